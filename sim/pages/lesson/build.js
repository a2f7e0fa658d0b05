// The page is built once: lessons, two walkers with their sliders and curves, legend, player.

function element(parent, tag, attributes = {}, text = '') {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  if (text) made.textContent = text;
  parent.appendChild(made);
  return made;
}

function slider(parent, id, text, axis, changed) {
  const label = element(parent, 'label', { class: 'slider', for: id });
  element(label, 'span', {}, text);
  const output = element(label, 'output', { for: id });
  const input = element(label, 'input', { type: 'range', id, min: 0, step: 1, max: DATA.axes[AXES[axis]].length - 1 });
  input.addEventListener('input', () => changed(Number(input.value)));
  return { input, output };
}

function makeSide(index) {
  const name = say(index ? 'walker_b' : 'walker_a');
  const root = element($('pair'), 'article', { class: 'walker', id: `walker-${'ab'[index]}`, 'aria-label': say('walker_name', { name }) });
  const head = element(root, 'div', { class: 'walker-head' });
  const title = element(head, 'div', { class: 'walker-name' });
  element(title, 'h2', {}, name);
  const chip = element(title, 'p', { class: 'outcome' });
  const side = { name, root, chip };
  side.step = slider(head, `step-${'ab'[index]}`, say('step_length'), 1, (value) => chosen(() => (state.sides[index].step = value)));
  side.resistance = slider(head, `resistance-${'ab'[index]}`, say('resistance'), 2, (value) => chosen(() => (state.sides[index].resistance = value)));
  side.stage = new Stage(svg(root, 'svg', { class: 'stage', role: 'img' }));
  const plots = element(root, 'div', { class: 'plots' });
  side.plots = PLOTS.map((plot) => {
    const figure = element(plots, 'figure');
    const caption = element(figure, 'figcaption', {}, `${say(`plot_${plot.name}`)} `);
    element(caption, 'span', { class: 'unit' }, `[${say(`plot_${plot.name}_unit`)}]`);
    const made = new Plot(svg(figure, 'svg', { class: 'plot', 'data-plot': plot.name, role: 'img' }), plot);
    dragThroughTime(made);
    return made;
  });
  side.readouts = element(root, 'dl', { class: 'readouts' });
  sides.push(side);
}

function makePage() {
  for (const lesson of Object.keys(DATA.plan.lessons)) {
    const button = element($('lessons'), 'button', { type: 'button', 'data-lesson': lesson }, say(`lesson_${lesson}`));
    button.addEventListener('click', () => openComparison(lesson, 0));
  }
  makeSide(0);
  makeSide(1);
  makeLegend();
  $('slope').max = DATA.axes[AXES[0]].length - 1;
  $('slope').addEventListener('input', () => chosen(() => (state.slope = Number($('slope').value))));
  for (const question of Object.keys(DATA.plan.questions)) element($('choose-question'), 'option', { value: question }, say(`topic_${question}`));
  $('choose-question').addEventListener('change', () => {
    state.question = $('choose-question').value;
    newPair();
  });
  SPEEDS.forEach((_, index) => makeSpeed(index));
  $('snap').textContent = say('snap', { count: number(DATA.walks.length, 0) });
  const made = { version: DATA.made_with.rampwalk, gains: DATA.made_with.gains, strides: number(DATA.strides, 0) };
  $('about-numbers').textContent = say('about_numbers', made);
  $('play').addEventListener('click', () => play(!state.playing));
  $('back').addEventListener('click', () => stepBy(-1));
  $('forward').addEventListener('click', () => stepBy(1));
  $('scrub').addEventListener('input', () => goTo(Number($('scrub').value)));
  document.addEventListener('keydown', pressed);
  calm.addEventListener('change', () => calm.matches && play(false));
  new ResizeObserver(() => {
    fitAll();
    drawAll();
  }).observe($('pair'));
}

function makeLegend() {
  for (const name of ['sound', 'prosthetic', 'mass', 'arrow']) {
    const item = element($('legend'), 'li');
    const sample = svg(item, 'svg', { class: 'sample', viewBox: '0 0 44 16', 'aria-hidden': 'true' });
    if (name === 'arrow') {
      svg(sample, 'line', { class: 'force', x1: 4, y1: 8, x2: 30, y2: 8 });
      svg(sample, 'polygon', { class: 'force-tip', points: '40,8 29,3 29,13' });
    } else {
      svg(sample, 'line', { class: `curve ${name}`, x1: 2, y1: 8, x2: 42, y2: 8 });
      if (name === 'sound') svg(sample, 'circle', { class: 'dot sound', cx: 22, cy: 8, r: 4 });
      if (name === 'prosthetic') svg(sample, 'rect', { class: 'dot prosthetic', x: 18, y: 4, width: 8, height: 8 });
      if (name === 'mass') svg(sample, 'path', { class: 'mass', d: 'M17 8A5 5 0 1 1 27 8A5 5 0 1 1 17 8M17 8H27M22 3V13' });
    }
    element(item, 'span', {}, say(`legend_${name}`));
  }
}

function makeSpeed(index) {
  const label = element($('speeds'), 'label');
  const share = SHARES[index];
  const told = share ? say('speed_value', { share }) : say('speed_full');
  const input = element(label, 'input', { type: 'radio', name: 'speed', value: index, 'aria-label': told });
  element(label, 'span', { 'aria-hidden': 'true', title: told }, share || '1');
  input.addEventListener('change', () => setSpeed(index));
}
