// First a guess, then time runs; buttons, keys and fingers; drawing.

function guess(answer) {
  Object.assign(state, { guess: answer, phase: 'watch', moment: 0 });
  if (calm.matches) {
    know();
  } else {
    writePhase();
    play(true);
  }
  $('play').focus({ preventScroll: true });
  const [stage, player] = [sides[0].stage.root, $('player')].map((part) => part.getBoundingClientRect());
  if (stage.bottom > player.top) $('verdict').parentElement.scrollIntoView({ behavior: calm.matches ? 'auto' : 'smooth' });
}

function know() {
  state.phase = 'known';
  writePhase();
}

function mayPlay() {
  if (state.phase !== 'ask') return true;
  $('verdict').hidden = false;
  $('verdict').replaceChildren();
  element($('verdict'), 'p', {}, say('guess_first'));
  return false;
}

function play(on) {
  if (on && !mayPlay()) return;
  state.playing = on;
  lastTick = null;
  showPlaying();
  if (on) requestAnimationFrame(tick);
}

function showPlaying() {
  $('play').textContent = say(state.playing ? 'pause' : 'play');
  $('play').dataset.playing = state.playing;
}

function tick(now) {
  if (!state.playing) return;
  if (lastTick !== null) {
    carried += (Math.min(now - lastTick, 100) / 1000 / DATA.sample_s) * SPEEDS[state.speed];
    const whole = Math.floor(carried);
    carried -= whole;
    if (whole) advance(whole);
  }
  lastTick = now;
  requestAnimationFrame(tick);
}

// On by some moments; the first time around ends with the answer.
function advance(count) {
  const next = state.moment + count;
  state.moment = next % state.clock.moments;
  if (next >= state.clock.moments && state.phase === 'watch') know();
  else drawAll();
}

function goTo(moment) {
  if (!mayPlay()) return;
  state.moment = Math.max(0, Math.min(state.clock.moments - 1, moment));
  carried = 0;
  if (state.moment === state.clock.moments - 1 && state.phase === 'watch') know();
  else drawAll();
}

function stepBy(count) {
  if (!mayPlay()) return;
  play(false);
  goTo((state.moment + count + state.clock.moments) % state.clock.moments);
}

function setSpeed(index) {
  state.speed = Math.max(0, Math.min(SPEEDS.length - 1, index));
  document.querySelectorAll('input[name=speed]').forEach((input, place) => (input.checked = place === state.speed));
}

function dragThroughTime(plot) {
  const follow = (event) => {
    const box = plot.root.getBoundingClientRect();
    goTo(plot.momentAt(event.clientX - box.left));
  };
  plot.root.addEventListener('pointerdown', (event) => {
    if (!mayPlay()) return;
    play(false);
    plot.root.setPointerCapture(event.pointerId);
    follow(event);
  });
  plot.root.addEventListener('pointermove', (event) => plot.root.hasPointerCapture(event.pointerId) && follow(event));
}

// Keys work wherever the focus is, except where they already mean something.
function pressed(event) {
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  const tag = event.target.tagName;
  const radio = event.target.type === 'radio';
  const actions = { ' ': () => play(!state.playing), ArrowLeft: () => stepBy(event.shiftKey ? -10 : -1), ArrowRight: () => stepBy(event.shiftKey ? 10 : 1), Home: () => goTo(0), s: () => setSpeed(state.speed - 1), f: () => setSpeed(state.speed + 1) };
  const action = actions[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  const ownSpace = event.key === ' ' && (tag === 'BUTTON' || tag === 'SUMMARY' || radio);
  const ownArrows = event.key.length > 1 && (tag === 'INPUT' || tag === 'SELECT');
  if (!action || tag === 'SELECT' || ownSpace || ownArrows) return;
  event.preventDefault();
  action();
}

function fitAll() {
  const fontSize = 0.8 * parseFloat(getComputedStyle(document.documentElement).fontSize);
  for (const side of sides) {
    side.stage.fit(side.stage.root.clientWidth, side.stage.root.clientHeight);
    for (const plot of side.plots) plot.fit(plot.root.clientWidth, plot.root.clientHeight, fontSize);
  }
}

function drawAll() {
  const known = state.phase === 'known';
  for (const side of sides) {
    side.stage.draw(state.moment);
    for (const plot of side.plots) plot.draw(state.moment, known);
  }
  const seconds = say('time_value', { seconds: number(state.moment * DATA.sample_s, 2) });
  $('scrub').value = state.moment;
  $('scrub').setAttribute('aria-valuetext', seconds);
  $('time').textContent = seconds;
}

makePage();
setSpeed(state.speed);
openComparison(state.lesson, 0);
