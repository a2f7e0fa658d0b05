// What is chosen, what is asked, what runs.

const SPEEDS = [0.1, 0.25, 0.5, 1];
const SHARES = ['1/10', '1/4', '1/2', ''];
const $ = (id) => document.getElementById(id);
const calm = matchMedia('(prefers-reduced-motion: reduce)');
const state = {
  lesson: Object.keys(DATA.plan.lessons)[0],
  comparison: 0, // null: the sliders were moved
  slope: 0,
  sides: [{ step: 0, resistance: 0 }, { step: 0, resistance: 0 }],
  question: 'peak',
  guess: null,
  phase: 'ask', // ask, watch, known
  playing: false,
  speed: SPEEDS.length - 1,
  moment: 0,
  clock: null,
};
const sides = [];
let lastTick = null;
let carried = 0; // share of a moment that has gone by
