// Curves over the time of the page: they build up to the present moment, both walkers on the same scales.

const PLOTS = [
  { name: 'force', lines: [[SOUND, (walk, k) => walk.channels[`load_${SOUND}`][k]], [PROSTHETIC, (walk, k) => walk.channels[`load_${PROSTHETIC}`][k]]], from: 0, mark: 1 },
  { name: 'knee', lines: [[SOUND, (walk, k) => kneeDegrees(walk, k, SOUND)], [PROSTHETIC, (walk, k) => kneeDegrees(walk, k, PROSTHETIC)]], from: 0 },
  { name: 'mass', lines: [['mass', massHeight]] },
];
const LEG_CLASS = { [SOUND]: 'sound', [PROSTHETIC]: 'prosthetic', mass: 'mass' };
let clips = 0;

// Values of one curve at all moments of the page, up to the end of a fall.
function curveOf(clock, side, value) {
  const values = [];
  for (let moment = 0; moment < clock.moments; moment += 1) {
    const own = ownMoment(clock, side, moment);
    if (!own) break;
    values.push(value(clock.walks[side], own.k));
    if (own.ended) break;
  }
  return values;
}

// A round step that makes two to five parts of a range.
function niceStep(range) {
  const power = 10 ** Math.floor(Math.log10(range / 4));
  return [1, 2, 5, 10].map((step) => step * power).find((step) => range / step <= 4.5);
}

function rangeOf(curves, plot) {
  const all = curves.flat(2);
  let low = Math.min(...all, plot.from === undefined ? Infinity : plot.from);
  let high = Math.max(...all, plot.mark || -Infinity);
  if (!all.length) [low, high] = [0, 1];
  const step = niceStep(Math.max(high - low, 0.04));
  // what reaches a little beyond a grid line, as a smoothed force below zero does, needs no further line
  return { low: Math.floor(low / step + 0.2) * step, high: Math.ceil(high / step - 0.1) * step, step };
}

class Plot {
  constructor(root, plot) {
    this.root = root;
    this.plot = plot;
    this.axes = svg(root, 'g', { class: 'axes' });
    const clip = svg(svg(root, 'defs'), 'clipPath', { id: `built-${(clips += 1)}` });
    this.clip = svg(clip, 'rect', { x: 0, y: -10 });
    this.whole = svg(root, 'g', { class: 'whole' });
    this.built = svg(root, 'g', { class: 'built', 'clip-path': `url(#${clip.id})` });
    this.now = svg(root, 'line', { class: 'now' });
    this.dots = plot.lines.map(([leg]) => svg(root, leg === PROSTHETIC ? 'rect' : 'circle', { class: `dot ${LEG_CLASS[leg]}` }));
  }

  show(clock, curves, range) {
    Object.assign(this, { clock, curves, range });
  }

  fit(width, height, fontSize) {
    Object.assign(this, { width, height });
    this.left = 2.7 * fontSize;
    this.right = width - 6;
    this.top = 0.6 * fontSize;
    this.bottom = height - 1.5 * fontSize;
    this.root.setAttribute('viewBox', `0 0 ${width} ${height}`);
    this.drawAxes();
    for (const group of [this.whole, this.built]) {
      group.replaceChildren();
      this.curves.forEach((values, index) => {
        const leg = LEG_CLASS[this.plot.lines[index][0]];
        const points = values.map((value, moment) => [this.x(moment), this.y(value)]);
        svg(group, 'polyline', { class: `curve ${leg}`, points: pointsText(points) });
      });
    }
    this.clip.setAttribute('height', height + 20);
  }

  x(moment) {
    return this.left + ((this.right - this.left) * moment) / Math.max(1, this.clock.moments - 1);
  }

  y(value) {
    return this.bottom - ((this.bottom - this.top) * (value - this.range.low)) / (this.range.high - this.range.low);
  }

  momentAt(x) {
    return Math.round(((x - this.left) / (this.right - this.left)) * (this.clock.moments - 1));
  }

  drawAxes() {
    this.axes.replaceChildren();
    const { low, high, step } = this.range;
    const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
    for (let value = low; value < high + step / 2; value += step) {
      const marked = this.plot.mark !== undefined && Math.abs(value - this.plot.mark) < 1e-9;
      const y = this.y(value);
      svg(this.axes, 'line', { class: marked ? 'grid marked' : 'grid', x1: this.left, x2: this.right, y1: y, y2: y });
      const label = svg(this.axes, 'text', { x: this.left - 7, y, 'text-anchor': 'end', 'dominant-baseline': 'middle' });
      label.textContent = number(value, digits);
    }
    const seconds = (this.clock.moments - 1) * DATA.sample_s;
    for (let time = 0; time <= seconds; time += this.right - this.left < 170 ? 1 : 0.5) {
      const x = this.x(time / DATA.sample_s);
      svg(this.axes, 'line', { class: 'grid', x1: x, x2: x, y1: this.bottom, y2: this.bottom + 4 });
      const label = svg(this.axes, 'text', { x, y: this.height - 2, 'text-anchor': 'middle' });
      label.textContent = time ? number(time, time % 1 ? 1 : 0) : say('time_value', { seconds: 0 });
    }
  }

  // The whole curve is seen faintly once the answer is known, before that only what has been built.
  draw(moment, known) {
    const x = this.x(moment);
    this.whole.setAttribute('visibility', known ? 'visible' : 'hidden');
    this.clip.setAttribute('width', Math.max(0, x));
    for (const [name, value] of Object.entries({ x1: x, x2: x, y1: this.top, y2: this.bottom })) this.now.setAttribute(name, value);
    this.dots.forEach((dot, index) => {
      const values = this.curves[index];
      dot.setAttribute('visibility', values.length ? 'visible' : 'hidden');
      if (!values.length) return;
      const last = Math.min(moment, values.length - 1);
      dot.setAttribute('transform', `translate(${this.x(last)} ${this.y(values[last])})`);
    });
  }
}
