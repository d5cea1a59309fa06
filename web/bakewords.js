// What a bake is called by its state, everywhere on the page.
import { OVEN_LANES } from './words.js';

/* `said` is how the command line and the page without scripts say it as well (phrase_bake.c; a test holds the two together), `now` stands in the list of hot
 * ovens, `record` in the record of a piece; `inside`: the piece is in its oven. */
export const BAKE_STATES = {
  review: { said: 'under review, not begun', record: 'bake under review' },
  'given-up': { said: 'given up before it began', record: 'bake given up' },
  heating: { said: 'heating up', now: 'heating up', record: 'in the oven', inside: true },
  soaking: { said: 'baking', now: 'baking', record: 'in the oven', inside: true },
  done: { said: 'baked: the heat may go', now: 'baked, heat off', record: 'in the oven', inside: true },
  interrupted: { said: 'interrupted: what the oven did is not known', now: 'interrupted: look at it', record: 'in the oven, interrupted', inside: true },
  cooling: { said: 'out of the heat, cooling', now: 'cooling', record: 'baked, cooling' },
  cold: { said: 'over, and cold', record: 'baked' },
};
for (const [state, [lane]] of Object.entries(OVEN_LANES)) BAKE_STATES[state].lane = lane;

// One of a state that is not known yet is said by its word alone.
export const bakeSaid = (bake, form = 'said') => BAKE_STATES[bake.state]?.[form] || bake.state;
