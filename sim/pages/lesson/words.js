// Sentences from texts and numbers. Every text goes into the page as text, never as markup.

function say(name, values = {}) {
  return TEXTS[name].replace(/\{(\w+)\}/g, (mark, key) => (key in values ? String(values[key]) : mark));
}

function number(value, digits) {
  const style = { minimumFractionDigits: digits, maximumFractionDigits: digits };
  return new Intl.NumberFormat(TEXTS.language, style).format(value);
}

const short = (value) => new Intl.NumberFormat(TEXTS.language, { maximumSignificantDigits: 3 }).format(value);
const centimetres = (metres) => number(100 * metres, 0);
const slopeText = (value) => say('slope_value', { degrees: short(-value) });
const stepText = (value) => say('step_value', { centimetres: centimetres(value) });
const resistanceText = (value) => say('resistance_value', { value: short(value) });
const tied = (text) => text.replaceAll(' ', '\u00a0'); // a value stays on a line with its unit

// Null unless the walk was made to its end: what was measured before a fall is not comparable.
function measured(walk, name) {
  const value = walk.numbers[name];
  return walk.outcome !== 'walked' || value === undefined ? null : value;
}

function measuredText(walk, name, text, digits) {
  const value = measured(walk, name);
  return value === null ? say('not_measured') : say(text, { value: number(value, digits) });
}

const peakText = (walk, leg) => measuredText(walk, `${leg}_peak_force_bw`, 'value_bw', 2);
const rateText = (walk) => measuredText(walk, 'knee_loaded_peak_rate_deg_s', 'value_rate', 0);

// What differs between the two, in one sentence.
function changedText(settings) {
  const [a, b] = settings;
  const names = [say('walker_a'), say('walker_b')];
  const ofStep = a.step !== b.step;
  const ofResistance = a.resistance !== b.resistance;
  if (ofStep && ofResistance) return say('changed_both');
  if (ofStep) return say('changed_step', { a: centimetres(a.step), b: centimetres(b.step), slow: names[a.step < b.step ? 0 : 1] });
  if (ofResistance) {
    const soft = a.resistance < b.resistance ? 0 : 1;
    const values = { a: tied(resistanceText(a.resistance)), b: tied(resistanceText(b.resistance)) };
    return say('changed_resistance', { soft: names[soft], stiff: names[1 - soft], ...values });
  }
  return say('changed_nothing');
}

function fateText(walk) {
  const values = { steps: number(walk.steps || 0, 0) };
  if (walk.outcome === 'walked') return say('walked_long', values);
  if (walk.outcome === 'stalled') return say('stalled_long', values);
  if (walk.outcome !== 'fell') return say('no_result_long');
  const toward = walk.toward === 'forward' ? 'fell_forward' : 'fell_backward';
  return say(walk.reached_slope ? toward : `${toward}_early`, values);
}

function larger(first, second, tolerance, words) {
  if (first === null || second === null) return words[3];
  if (Math.abs(first - second) < tolerance) return words[1];
  return first > second ? words[0] : words[2];
}

// What the model did, as one of the answers of the question.
function answerOf(question, walks) {
  const words = DATA.plan.questions[question];
  if (question === 'fall') {
    const came = walks.map((walk) => walk.outcome === 'walked');
    return words[came[0] ? (came[1] ? 0 : 1) : came[1] ? 2 : 3];
  }
  if (question === 'leg') {
    const peaks = ['prosthetic', 'sound'].map((leg) => measured(walks[1], `${leg}_peak_force_bw`));
    return larger(peaks[0], peaks[1], DATA.plan.same_peak_bw, words);
  }
  const name = question === 'peak' ? 'sound_peak_force_bw' : 'knee_loaded_peak_rate_deg_s';
  const values = walks.map((walk) => measured(walk, name));
  const rateTolerance = DATA.plan.same_rate_share * Math.max(...values);
  return larger(values[0], values[1], question === 'peak' ? DATA.plan.same_peak_bw : rateTolerance, words);
}

const answerText = (question, answer) => say(`answer_${question}_${answer}`);

// Sentences of the answer: guess, model, numbers, tolerance, rule of thumb of the lesson.
function verdictTexts(question, walks, guess, comparison) {
  const answer = answerOf(question, walks);
  const texts = [];
  if (guess !== null) {
    texts.push(guess === answer ? say('verdict_right') : say('verdict_wrong', { guess: answerText(question, guess) }));
  }
  texts.push(say('verdict_model', { answer: answerText(question, answer) }));
  texts.push(numbersText(question, walks));
  if (answer === 'same' && question === 'rate') texts.push(say('same_rate', { percent: number(100 * DATA.plan.same_rate_share, 0) }));
  else if (answer === 'same') texts.push(say('same_peak', { tolerance: short(DATA.plan.same_peak_bw) }));
  if (comparison && comparison.question === question) {
    texts.push(say(answer === comparison.rule ? 'rule_agrees' : 'rule_disagrees', { rule: say(comparison.ruleText) }));
  }
  return texts;
}

function numbersText(question, walks) {
  const [a, b] = walks;
  if (question === 'fall') return say('result_fall', { a: fateText(a), b: fateText(b) });
  if (question === 'leg') return say('result_leg', { sound: peakText(b, 'sound'), prosthetic: peakText(b, 'prosthetic') });
  if (question === 'rate') return say('result_rate', { a: rateText(a), b: rateText(b) });
  return say('result_peak', { a: peakText(a, 'sound'), b: peakText(b, 'sound') });
}

// Label and value of each measured number of a walk.
function readouts(walk) {
  const steps = ['sound', 'prosthetic'].map((leg) => measured(walk, `${leg}_step_length_m`));
  const lengths = { sound: steps[0] === null ? '–' : centimetres(steps[0]), prosthetic: steps[1] === null ? '–' : centimetres(steps[1]) };
  return [
    ['number_sound_peak', peakText(walk, 'sound')],
    ['number_prosthetic_peak', peakText(walk, 'prosthetic')],
    ['number_rate', rateText(walk)],
    ['number_speed', measuredText(walk, 'speed_m_s', 'value_speed', 2)],
    ['number_steps', steps[0] === null ? say('not_measured') : say('value_steps', lengths)],
  ];
}
