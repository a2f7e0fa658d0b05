// Walks from their bytes, joints from angles, and the ground. Lengths in m, y up, x downhill.

const DATA = JSON.parse(document.getElementById('lesson-data').textContent);
const TEXTS = JSON.parse(document.getElementById('lesson-texts').textContent);
const AXES = ['slope_deg', 'step_length_m', 'knee.flexion_resistance'];
const PACKED = document.getElementById('lesson-walks').textContent;
const PROSTHETIC = 0;
const SOUND = 1;
const walksRead = new Map();

// One walk of the grid by its place on each axis; nothing between two places exists.
function walkAt(places) {
  const [, steps, resistances] = AXES.map((name) => DATA.axes[name].length);
  const index = (places[0] * steps + places[1]) * resistances + places[2];
  if (!walksRead.has(index)) walksRead.set(index, readWalk(index, DATA.grounds[places[0]]));
  return walksRead.get(index);
}

function readWalk(index, ground) {
  const told = DATA.walks[index];
  const bytes = atob(PACKED.slice(told.begin, told.begin + told.length)); // only walks that are looked at
  const channels = channelsOf(bytes, told.samples || 0);
  return { ...told, index, ground, channels, samples: told.samples || 0, numbers: told.numbers || {} };
}

// The reverse of sim/lesson/packing.py: seven bits a byte, even numbers up, odd ones down, summed along time.
function channelsOf(bytes, samples) {
  const channels = {};
  let place = 0;
  for (const [name, quantum] of DATA.channels) {
    const values = new Float64Array(samples);
    let sum = 0;
    for (let k = 0; k < samples; k += 1) {
      let code = 0;
      let shift = 0;
      let byte;
      do {
        byte = bytes.charCodeAt(place);
        place += 1;
        code |= (byte & 127) << shift;
        shift += 7;
      } while (byte > 127);
      sum += code & 1 ? -((code + 1) >> 1) : code >> 1;
      values[k] = sum * quantum;
    }
    channels[name] = values;
  }
  return channels;
}

// Joints of moment k: [x, y] each; legs are [prosthetic, sound].
function jointsOf(walk, k) {
  const at = (name) => walk.channels[name][k];
  const person = DATA.person;
  const hip = [at('hip_x'), at('hip_y')];
  const up = (length) => [hip[0] - length * Math.sin(at('trunk')), hip[1] + length * Math.cos(at('trunk'))];
  const legs = [PROSTHETIC, SOUND].map((leg) => {
    const knee = hung(hip, person.thigh, at(`thigh_${leg}`));
    const ankle = hung(knee, person.shank, at(`shank_${leg}`));
    const angle = at(`foot_${leg}`);
    const sole = person.sole[leg].map((point) => turned(ankle, point, angle));
    const pressure = turned(ankle, [at(`pressure_${leg}`), -person.sole_height], angle);
    return { knee, ankle, sole, pressure, force: [at(`force_x_${leg}`), at(`force_y_${leg}`)] };
  });
  const massCentre = [at('mass_centre_x'), at('mass_centre_y')];
  return { hip, legs, massCentre, shoulder: up(person.shoulder), neck: up(person.neck), head: up(person.head) };
}

function hung(joint, length, angle) {
  return [joint[0] + length * Math.sin(angle), joint[1] - length * Math.cos(angle)];
}

function turned(centre, point, angle) {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return [centre[0] + c * point[0] - s * point[1], centre[1] + s * point[0] + c * point[1]];
}

// As sim/law/ground.py: between knots the slope changes evenly, beyond them the ground goes on straight.
function groundAt(ground, x) {
  const last = ground.x.length - 1;
  let k = 0;
  while (k < last && x >= ground.x[k + 1]) k += 1;
  const d = x - ground.x[k];
  const inside = x > ground.x[0] && k < last;
  const bend = inside ? (ground.slope[k + 1] - ground.slope[k]) / (ground.x[k + 1] - ground.x[k]) : 0;
  return { height: ground.height[k] + d * (ground.slope[k] + 0.5 * bend * d), slope: ground.slope[k] + bend * d };
}

function kneeDegrees(walk, k, leg) {
  return ((walk.channels[`thigh_${leg}`][k] - walk.channels[`shank_${leg}`][k]) * 180) / Math.PI;
}

// Distance of the mass centre from the slope, perpendicular to it.
function massHeight(walk, k) {
  const x = walk.channels.mass_centre_x[k];
  const ground = groundAt(walk.ground, x);
  return (walk.channels.mass_centre_y[k] - ground.height) / Math.hypot(1, ground.slope);
}
