// Why the times of a coat are what they are, in hours that add up; and what a finger, paper or thumb at the bench said.
import { h, replace, tag } from './dom.js';
import { field, select } from './fields.js';
import { at, hhmm, longDay, rfc3339, shopNow, when } from './clock.js';
import { humidity, temp } from './units.js';
import { get } from './api.js';
import { STAGES, STAGE_WORDS } from './stagewords.js';
import { outcome, send } from './log.js';

// Stages that somebody waits for; the others come on the way.
const WAITED_FOR = ['recoat', 'handle', 'seal', 'bake', 'cure'];

const times = (row) => `${row.factor.toFixed(2)} times`;
const PHRASES = {
  table: (row) => `the table, at ${temp(row.temp_c)}`,
  film: (row) => `film, ${times(row)}`,
  'films-under': (row) => `coats still soft below, ${times(row)}`,
  'shop-factor': (row) => `tests in this shop, ${times(row)}`,
  night: (row) => `noon to noon from ${longDay(at(row.from_at))}, down to ${temp(row.temp_c)}`,
  'other-air': () => 'other air, warmer or colder than the table',
  damp: (row) => `damp air, up to ${humidity(row.rh_pct)}`,
  'too-cold': (row) => `held up, below ${temp(row.temp_c)}`,
  'too-damp': (row) => `held up, above ${humidity(row.rh_pct)}`,
  'assumed-air': () => 'air that is assumed, not measured',
  'to-come': () => 'the air to come, as the outlook has it',
  'label-floor': () => 'not before the label\'s hours',
  'cold-casting': () => 'carried in cold, it warmed through slowly',
};

const hours = (n) => `${n < 0 ? '−' : '+'} ${Math.abs(n).toFixed(1)} h`;

function sumOf(item) {
  const rows = item.rows.filter((row) => row.what !== 'other-air' || Math.abs(row.hours) >= 0.05);
  const comes = item.likely_at === null ? 'so far; it does not come in the air it has' : `so about ${when(at(item.likely_at))}`;
  return h('table', { class: 'why' }, h('caption', {}, STAGE_WORDS[item.stage] || item.stage),
    h('tbody', {}, rows.map((row) => h('tr', {}, h('td', {}, hours(row.hours)), h('td', {}, (PHRASES[row.what] || (() => row.what))(row))))),
    h('tfoot', {}, h('tr', {}, h('td', {}, `${item.total_h.toFixed(1)} h`), h('td', {}, comes))));
}

function learnedText(name, learned) {
  if (!learned || learned.tests === 0) return null;
  return h('p', {}, `${name}: ${learned.k.toFixed(2)} times (${learned.k_low.toFixed(2)} to ${learned.k_high.toFixed(2)}), by ${learned.tests} ${learned.tests === 1 ? 'test' : 'tests'}; before any, ${learned.prior_k.toFixed(2)}. Less than 1 is never counted as a gain.`,
    learned.contradicted && h('b', {}, ' Tests contradict each other: one passed earlier than another failed. Look at both.'));
}

// What is open stays open when the view is drawn again after a reading.
const opened = new Set();
function remember(key, event) { if (event.target.open) opened.add(key); else opened.delete(key); }

export function whyDetails(coat) {
  const body = h('div', {}, 'reading …');
  const load = async () => {
    try {
      const why = await get(`/coats/${coat.id}/why`);
      const items = why.items.filter((item) => WAITED_FOR.includes(item.stage));
      replace(body, learnedText('This material in this shop', why.material_tests), learnedText('This tin', why.tin_tests), items.length ? items.map(sumOf) : h('p', {}, 'Nothing of it is waited for.'));
    } catch (error) { body.textContent = `The hours could not be read: ${error.message}`; }
  };
  const key = `why ${coat.id}`;
  return h('details', { open: opened.has(key), ontoggle: (event) => { remember(key, event); if (event.target.open) load(); } }, h('summary', {}, 'Why these times'), body);
}

function told(test) {
  return h('li', {}, `${STAGE_WORDS[test.stage] || test.stage}: ${test.passed ? 'passed' : 'not yet'}, ${longDay(at(test.at))} ${hhmm(at(test.at))}`);
}

// What is asked for first: a size its leaf, any other coat what it waits for.
function firstAsked(stages) {
  const leaf = stages.find((stage) => stage.stage === 'leaf');
  const waiting = stages.find((stage) => stage.state === 'waiting' || stage.state === 'shut');
  return (leaf || waiting || stages[0]).stage;
}

export function benchTest(context, coat) {
  const stages = [...coat.stages].sort((p, q) => STAGES.indexOf(p.stage) - STAGES.indexOf(q.stage));
  if (!stages.length) return null;
  const says = outcome(), tests = coat.tests || [];
  const stage = select('stage', stages.map((one) => [one.stage, STAGE_WORDS[one.stage] || one.stage]), firstAsked(stages));
  const tell = (passed) => (event) => send(event.currentTarget, says, context.write('POST', `/coats/${coat.id}/tests`, { stage: stage.value, passed, at: rfc3339(shopNow()) }, `tested coat ${coat.id}`));
  const key = `tests ${coat.id}`;
  return h('details', { open: opened.has(key), ontoggle: (event) => remember(key, event) }, h('summary', {}, `Tests at the bench: ${tests.length}`), tests.length > 0 && h('ol', {}, tests.map(told)),
    h('p', {}, 'A finger, paper or thumb says more than any table. What it says counts from now on, for this material in this shop too; never before the label.'),
    field('Tested just now', stage), h('div', { class: 'after' }, tag('Passed', { filled: true, onclick: tell(true) }), tag('Not yet', { onclick: tell(false) })), says);
}
