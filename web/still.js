// Where a coat stood still, in words.
import { STALLS } from './words.js';

// "too cold Tue 22:00 to Wed 07:30", each stretch that a coat stood still; `say` words a moment.
export const stoodText = (coat, say) => coat.stood_still.map((one) => `${STALLS[one.why] || one.why} ${say(one.from_at)} to ${say(one.to_at)}`).join('; ');
