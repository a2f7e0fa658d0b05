// The walker: a stick figure in metres inside a moving group, so that places on screen are places of the walk.

const SVG = 'http://www.w3.org/2000/svg';
const VIEW = { height: 2.12, least_width: 1.6, below: 0.2 }; // m
const LEAST_FORCE = 0.03; // body weights; smaller forces are not drawn
const ARROW = [0.075, 0.03]; // length and half width of an arrow's head [m]

function svg(parent, tag, attributes = {}) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  if (parent) parent.appendChild(element);
  return element;
}

const pointsText = (points) => points.map(([x, y]) => `${x.toFixed(4)},${y.toFixed(4)}`).join(' ');

class Stage {
  constructor(root) {
    this.root = root;
    this.world = svg(root, 'g', { class: 'world' });
    this.ground = svg(this.world, 'polygon', { class: 'ground' });
    this.ticks = svg(this.world, 'path', { class: 'ticks' });
    this.trace = svg(this.world, 'polyline', { class: 'mass-trace' });
    this.legs = [];
    for (const leg of [SOUND, PROSTHETIC]) this.legs[leg] = this.makeLeg(leg);
    this.trunk = svg(this.world, 'polyline', { class: 'trunk' });
    this.head = svg(this.world, 'circle', { class: 'head', r: DATA.person.head_radius });
    this.hip = svg(this.world, 'circle', { class: 'joint hip', 'data-joint': 'hip', r: 0.02 });
    this.mass = svg(this.world, 'path', { class: 'mass', d: 'M-.04 0A.04 .04 0 1 1 .04 0A.04 .04 0 1 1 -.04 0M-.04 0H.04M0 -.04V.04' });
    this.note = svg(root, 'text', { class: 'stage-note', 'text-anchor': 'middle' });
  }

  makeLeg(leg) {
    const side = leg === SOUND ? 'sound' : 'prosthetic';
    const group = svg(this.world, 'g', { class: `leg ${side}` });
    const joint = (name, size) => {
      const places = { class: 'joint', 'data-joint': `${side}-${name}` };
      return leg === SOUND
        ? svg(group, 'circle', { ...places, r: size })
        : svg(group, 'rect', { ...places, x: -size, y: -size, width: 2 * size, height: 2 * size });
    };
    return {
      force: svg(group, 'line', { class: 'force' }),
      tip: svg(group, 'polygon', { class: 'force-tip' }),
      limb: svg(group, 'polyline', { class: 'limb' }),
      foot: svg(group, 'polygon', { class: 'foot' }),
      knee: joint('knee', 0.035),
      ankle: joint('ankle', 0.022),
      toe: joint('toe', 0.008),
    };
  }

  // A new walk: its ground, the path of its mass centre at all moments of the page.
  show(clock, side) {
    this.clock = clock;
    this.side = side;
    this.walk = clock.walks[side];
    this.root.dataset.walk = this.walk.index;
    this.world.setAttribute('visibility', this.walk.samples ? 'visible' : 'hidden');
    this.note.textContent = this.walk.samples ? '' : say('no_picture');
    if (!this.walk.samples) return;
    this.path = [];
    for (let moment = 0; moment < clock.moments; moment += 1) {
      const own = ownMoment(clock, side, moment);
      const [x, y] = shiftOf(this.walk, own.turn);
      const channels = this.walk.channels;
      this.path.push([channels.mass_centre_x[own.k] + x, channels.mass_centre_y[own.k] + y]);
    }
    this.trace.points.clear();
    this.middles = Array.from(this.walk.channels.hip_x, (x, k) => {
      const [one, other] = jointsOf(this.walk, k).legs;
      return x / 2 + (one.ankle[0] + other.ankle[0]) / 4;
    });
    this.drawGround();
  }

  drawGround() {
    const hips = Array.from(this.walk.channels.hip_x);
    const turns = ownMoment(this.clock, this.side, this.clock.moments - 1).turn;
    const low = Math.min(...hips) - 6;
    const high = Math.max(...hips) + shiftOf(this.walk, turns)[0] + 6;
    const line = [];
    for (let x = low; x <= high; x += 0.05) line.push([x, groundAt(this.walk.ground, x).height]);
    const deep = Math.min(line[0][1], line[line.length - 1][1]) - 4;
    this.ground.setAttribute('points', pointsText([...line, [high, deep], [low, deep]]));
    let ticks = '';
    for (let x = Math.ceil(low * 2) / 2; x <= high; x += 0.5) {
      const { height, slope } = groundAt(this.walk.ground, x);
      const length = 0.06 / Math.hypot(1, slope);
      ticks += `M${x.toFixed(3)} ${height.toFixed(4)}l${(slope * length).toFixed(4)} ${(-length).toFixed(4)}`;
    }
    this.ticks.setAttribute('d', ticks);
  }

  // The camera goes with the hip, evenly; of a fall, with the mean place of hip and feet around it.
  cameraX(own) {
    const hips = this.walk.channels.hip_x;
    const last = this.walk.samples - 1;
    if (this.walk.repeats) {
      const gone = shiftOf(this.walk, 1)[0];
      const middle = hips.reduce((sum, x) => sum + x, 0) / hips.length;
      return middle + gone * ((own.k - last / 2) / (last + 1) + own.turn);
    }
    const around = this.middles.slice(Math.max(0, own.k - 30), Math.min(last, own.k + 30) + 1);
    return around.reduce((sum, x) => sum + x, 0) / around.length;
  }

  // The camera's place moved as little as keeps the whole walker in the picture.
  kept(x, joints, shift) {
    const across = joints.legs.flatMap((leg) => [leg.knee, leg.ankle, ...leg.sole]).concat([joints.hip]).map((point) => point[0]);
    const head = [joints.head[0] - DATA.person.head_radius, joints.head[0] + DATA.person.head_radius];
    const [low, high] = [Math.min(...across, ...head) + shift, Math.max(...across, ...head) + shift];
    const half = this.width / 2 / this.scale - 0.03;
    return high - low > 2 * half ? (low + high) / 2 : Math.min(Math.max(x, high - half), low + half);
  }

  fit(width, height) {
    Object.assign(this, { width, height });
    this.scale = Math.min(height / VIEW.height, width / VIEW.least_width);
    this.root.setAttribute('viewBox', `0 0 ${width} ${height}`);
    this.root.dataset.scale = this.scale;
    this.note.setAttribute('x', width / 2);
    this.note.setAttribute('y', 20);
  }

  draw(moment) {
    const own = this.walk.samples ? ownMoment(this.clock, this.side, moment) : null;
    if (!own) return;
    this.root.dataset.sample = own.k;
    const [dx, dy] = shiftOf(this.walk, own.turn);
    const moved = ([x, y]) => [x + dx, y + dy];
    const joints = jointsOf(this.walk, own.k);
    const x = this.kept(this.cameraX(own), joints, dx);
    const y = groundAt(this.walk.ground, x).height - VIEW.below;
    const [s, left, bottom] = [this.scale, this.width / 2, this.height];
    this.world.setAttribute('transform', `translate(${left - s * x} ${bottom + s * y}) scale(${s} ${-s})`);
    this.drawTrace(moment);
    this.trunk.setAttribute('points', pointsText([joints.hip, joints.shoulder, joints.neck].map(moved)));
    place(this.head, moved(joints.head));
    place(this.hip, moved(joints.hip));
    this.mass.setAttribute('transform', `translate(${moved(joints.massCentre).join(' ')})`);
    joints.legs.forEach((leg, index) => this.drawLeg(this.legs[index], leg, moved(joints.hip), moved));
    this.note.textContent = own.ended && this.walk.outcome !== 'walked' ? say('computation_ends') : '';
  }

  // Only what has been added since the last moment; all of it after a jump back.
  drawTrace(moment) {
    const points = this.trace.points;
    if (points.length > moment + 1) points.clear();
    while (points.length <= moment) {
      const point = this.root.createSVGPoint();
      [point.x, point.y] = this.path[points.length];
      points.appendItem(point);
    }
  }

  drawLeg(parts, leg, hip, moved) {
    const [knee, ankle] = [moved(leg.knee), moved(leg.ankle)];
    const sole = leg.sole.map(moved);
    parts.limb.setAttribute('points', pointsText([hip, knee, ankle]));
    parts.foot.setAttribute('points', pointsText([ankle, ...sole]));
    place(parts.knee, knee);
    place(parts.ankle, ankle);
    place(parts.toe, sole[2]);
    drawForce(parts, moved(leg.pressure), leg.force);
  }
}

function place(element, [x, y]) {
  element.setAttribute('transform', `translate(${x.toFixed(4)} ${y.toFixed(4)})`);
}

function drawForce(parts, start, force) {
  const size = Math.hypot(...force);
  const seen = size > LEAST_FORCE ? 'visible' : 'hidden';
  parts.force.setAttribute('visibility', seen);
  parts.tip.setAttribute('visibility', seen);
  if (seen === 'hidden') return;
  const length = DATA.person.force_length;
  const tip = [start[0] + length * force[0], start[1] + length * force[1]];
  const along = [force[0] / size, force[1] / size];
  const neck = [tip[0] - ARROW[0] * along[0], tip[1] - ARROW[0] * along[1]];
  const across = [-along[1] * ARROW[1], along[0] * ARROW[1]];
  const line = { x1: start[0], y1: start[1], x2: neck[0], y2: neck[1] };
  for (const [name, value] of Object.entries(line)) parts.force.setAttribute(name, value.toFixed(4));
  const corners = [tip, [neck[0] + across[0], neck[1] + across[1]], [neck[0] - across[0], neck[1] - across[1]]];
  parts.tip.setAttribute('points', pointsText(corners));
}
