// One clock for two walkers. It counts moments of the page; each walker has its own moment for each of them.

const HOLD_S = 1.2; // a walker who fell is looked at for this long before the pair starts again

// What is shown of a pair, from the landing of both prosthetic feet: moments, and how fast each walker's time runs.
function clockOf(walks) {
  const lasts = walks.map((walk) => walk.samples * DATA.sample_s);
  const allRepeat = walks.every((walk) => walk.repeats);
  const ends = lasts.filter((_, side) => !walks[side].repeats);
  const seconds = allRepeat ? (lasts[0] + lasts[1]) / 2 : Math.max(...ends) + HOLD_S;
  const rates = lasts.map((last) => (allRepeat ? last / seconds : 1));
  return { moments: Math.max(1, Math.round(seconds / DATA.sample_s)), rates, walks };
}

// Moment of a walker at a moment of the page: sample k, how often its strides were repeated, whether it has ended.
function ownMoment(clock, side, moment) {
  const walk = clock.walks[side];
  if (!walk.samples) return null;
  const sample = Math.floor(moment * clock.rates[side] + 1e-6);
  if (walk.repeats) return { k: sample % walk.samples, turn: Math.floor(sample / walk.samples), ended: false };
  return { k: Math.min(sample, walk.samples - 1), turn: 0, ended: sample >= walk.samples - 1 };
}

// Where a walker stands at a moment, each repetition moved on along the slope by what its strides cover.
function shiftOf(walk, turn) {
  if (!turn) return [0, 0];
  const channels = walk.channels;
  const first = jointsOf(walk, 0).legs[PROSTHETIC].ankle[0];
  const last = jointsOf(walk, walk.samples - 1).legs[PROSTHETIC].ankle[0];
  const x = turn * (last - first);
  const slope = groundAt(walk.ground, channels.hip_x[0]).slope;
  return [x, slope * x];
}
