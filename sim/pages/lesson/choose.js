// A pair is chosen by a lesson or by the sliders; what is chosen, asked and known is written down.

function nearest(axis, wanted) {
  const values = DATA.axes[AXES[axis]];
  return values.reduce((best, value, index) => (Math.abs(value - wanted) < Math.abs(values[best] - wanted) ? index : best), 0);
}

function openComparison(lesson, index) {
  const comparison = DATA.plan.lessons[lesson][index];
  Object.assign(state, { lesson, comparison: index, question: comparison.question, slope: nearest(0, comparison.slope_deg) });
  state.sides = comparison.walkers.map((walker) => ({ step: nearest(1, walker.step_length_m), resistance: nearest(2, walker.resistance) }));
  newPair();
}

// The sliders were moved: an own comparison, and a new guess.
function chosen(change) {
  change();
  state.comparison = null;
  newPair();
}

function currentComparison() {
  if (state.comparison === null) return null;
  return { ...DATA.plan.lessons[state.lesson][state.comparison], ruleText: `rule_${state.lesson}_${state.comparison + 1}` };
}

function newPair() {
  const walks = state.sides.map((side) => walkAt([state.slope, side.step, side.resistance]));
  Object.assign(state, { clock: clockOf(walks), moment: 0, guess: null, phase: 'ask', playing: false });
  carried = 0;
  sides.forEach((side, index) => side.stage.show(state.clock, index));
  PLOTS.forEach((plot, p) => {
    const curves = sides.map((_, index) => plot.lines.map(([, value]) => curveOf(state.clock, index, value)));
    const range = rangeOf(curves, plot);
    sides.forEach((side, index) => side.plots[p].show(state.clock, curves[index], range));
  });
  $('scrub').max = state.clock.moments - 1;
  const percents = state.clock.rates.map((rate) => percentText(rate));
  $('about-time').textContent = say('about_time', { sample: number(1000 * DATA.sample_s, 0), a: percents[0], b: percents[1] });
  writeChoices();
  writeQuestion();
  fitAll();
  writePhase();
}

const percentText = (share) => new Intl.NumberFormat(TEXTS.language, { style: 'percent', maximumFractionDigits: 1 }).format(share);

function settingsOf(side) {
  return { step: DATA.axes[AXES[1]][side.step], resistance: DATA.axes[AXES[2]][side.resistance] };
}

function setSlider({ input, output }, place, text) {
  input.value = place;
  input.setAttribute('aria-valuetext', text);
  output.textContent = text;
}

function writeChoices() {
  for (const button of $('lessons').children) button.setAttribute('aria-pressed', button.dataset.lesson === state.lesson);
  $('comparisons').replaceChildren();
  DATA.plan.lessons[state.lesson].forEach((_, index) => {
    const pressedNow = String(state.comparison === index);
    const button = element($('comparisons'), 'button', { type: 'button', 'aria-pressed': pressedNow }, say('comparison', { number: number(index + 1, 0) }));
    button.addEventListener('click', () => {
      openComparison(state.lesson, index);
      $('comparisons').children[index].focus();
    });
  });
  if (state.comparison === null) element($('comparisons'), 'span', { class: 'own' }, say('own_comparison'));
  setSlider({ input: $('slope'), output: $('slope-value') }, state.slope, slopeText(DATA.axes[AXES[0]][state.slope]));
  sides.forEach((side, index) => {
    const values = settingsOf(state.sides[index]);
    setSlider(side.step, state.sides[index].step, stepText(values.step));
    setSlider(side.resistance, state.sides[index].resistance, resistanceText(values.resistance));
  });
  $('choose-question').value = state.question;
  $('changed').textContent = changedText(state.sides.map(settingsOf));
}

function writeQuestion() {
  $('question').textContent = say(`question_${state.question}`);
  $('answers').replaceChildren();
  for (const answer of DATA.plan.questions[state.question]) {
    const button = element($('answers'), 'button', { type: 'button', 'data-answer': answer }, answerText(state.question, answer));
    button.addEventListener('click', () => guess(answer));
  }
  const none = element($('answers'), 'button', { type: 'button', class: 'quiet', id: 'no-guess' }, say('no_guess'));
  none.addEventListener('click', () => guess(null));
}

// What may be seen in each phase: before the guess nothing moves and no outcome is told.
function writePhase() {
  const known = state.phase === 'known';
  document.body.dataset.phase = state.phase;
  $('guess').hidden = state.phase !== 'ask';
  $('scrub').disabled = state.phase === 'ask';
  for (const id of ['play', 'back', 'forward']) $(id).setAttribute('aria-disabled', state.phase === 'ask');
  sides.forEach((side, index) => {
    const walk = state.clock.walks[index];
    side.chip.textContent = say(known ? `outcome_${walk.outcome}` : 'outcome_hidden');
    side.chip.dataset.outcome = known ? walk.outcome : '';
    side.readouts.replaceChildren();
    side.readouts.hidden = !known;
    if (known) for (const [label, value] of readouts(walk)) writeReadout(side.readouts, label, value);
    describe(side, walk, index, known);
  });
  writeVerdict();
  showPlaying();
  drawAll();
}

function writeReadout(list, label, value) {
  const row = element(list, 'div');
  element(row, 'dt', {}, say(label));
  element(row, 'dd', {}, value);
}

function describe(side, walk, index, known) {
  const values = settingsOf(state.sides[index]);
  const told = { name: side.name, step: stepText(values.step), resistance: resistanceText(values.resistance) };
  told.slope = slopeText(DATA.axes[AXES[0]][state.slope]);
  told.outcome = known ? fateText(walk) : '';
  side.stage.root.setAttribute('aria-label', say('stage_alt', told));
  side.plots.forEach((plot) => {
    const title = say(`plot_${plot.plot.name}`);
    const detail = known ? plotDetail(plot, walk) : say('plot_alt_hidden');
    plot.root.setAttribute('aria-label', say('plot_alt', { title, name: side.name, detail }));
  });
}

function plotDetail(plot, walk) {
  if (plot.plot.name === 'force') return say('plot_alt_force', { sound: peakText(walk, 'sound'), prosthetic: peakText(walk, 'prosthetic') });
  const all = plot.curves.flat();
  if (!all.length) return say('no_picture');
  const unit = say(`plot_${plot.plot.name}_unit`);
  const digits = plot.plot.name === 'mass' ? 2 : 0;
  return say('plot_alt_range', { low: number(Math.min(...all), digits), high: `${number(Math.max(...all), digits)} ${unit}` });
}

function writeVerdict() {
  const box = $('verdict');
  box.replaceChildren();
  box.hidden = state.phase === 'ask';
  if (state.phase === 'watch') {
    const text = state.guess === null ? say('watch_no_guess') : say('watch', { guess: answerText(state.question, state.guess) });
    element(box, 'p', {}, text);
    element(box, 'button', { type: 'button', id: 'show-answer' }, say('show_answer')).addEventListener('click', know);
  } else if (state.phase === 'known') {
    const texts = verdictTexts(state.question, state.clock.walks, state.guess, currentComparison());
    element(box, 'p', {}, texts.join(' '));
    element(box, 'button', { type: 'button', id: 'guess-again' }, say('guess_again')).addEventListener('click', newPair);
  }
}
