// The views behind the first: each is fetched when it is asked for, with the style that they share.
import { h, tag, replace } from './dom.js';

// Behind the first style, before those of single views, which overrule it.
const style = (name) => new Promise((done, fail) => document.querySelector('link[rel=stylesheet]').after(Object.assign(document.createElement('link'), { rel: 'stylesheet', href: `/assets/${name}.css`, onload: done, onerror: fail })));

// What was fetched once is kept; what could not be is asked for again the next time.
function once(fetch) {
  let kept = null;
  return () => { kept ||= fetch().catch((error) => { kept = null; throw error; }); return kept; };
}

const loadStyle = once(() => style('later'));
// All that is written down in the shop, and what rings.
export const loadForms = once(() => Promise.all([loadStyle(), ...['writes', 'draft', 'log', 'piece', 'material', 'shopview', 'check', 'mix', 'tins', 'bell'].map((name) => import(`./${name}.js`))]).then((parts) => Object.assign({}, ...parts)));

const titled = (title, make) => (el, params, context) => { replace(el, h('h1', {}, title), make(params, context)); return {}; };

const airEntry = ({ airForm }) => titled('Air', (params, context) => (context.shop.places.some((place) => !place.removed_at) ? airForm(context, () => context.go(''), params.place) : [h('p', {}, 'There is no place yet whose air could be read.'), tag('Add a place', { filled: true, href: '#place' })]));
const newPlace = ({ placeForm }) => titled('A place', (params, context) => placeForm(context, (place) => context.go(place.kind === 'oven' ? `vapour?place=${place.id}` : `air?place=${place.id}`))); // of an oven its exhaust is asked first
const newPiece = ({ pieceForm }) => titled('A piece', (params, context) => pieceForm(context, (piece) => context.go(`log?piece=${piece.id}`)));

// Of each its modules, and the view among what they export.
const VIEWS = {
  log: [loadForms, (parts) => parts.logView], piece: [loadForms, (parts) => parts.pieceView], material: [loadForms, (parts) => parts.materialView], shop: [loadForms, (parts) => parts.shopView], check: [loadForms, (parts) => parts.checkView],
  mix: [loadForms, (parts) => parts.mixView], tins: [loadForms, (parts) => parts.tinsView], air: [loadForms, airEntry], place: [loadForms, newPlace], newpiece: [loadForms, newPiece],
  tell: [() => import('./tell.js'), (parts) => parts.tellView], vapour: [() => import('./vapour.js'), (parts) => parts.vapourView], bake: [() => import('./bake.js'), (parts) => parts.bakeView], hangtag: [() => import('./tag.js'), (parts) => parts.tagView],
  record: [() => import('./record.js'), (parts) => parts.recordView], finished: [() => import('./record.js'), (parts) => parts.finishedView],
};
const airPlot = [() => import('./air.js'), (parts) => parts.plotView];

// A view that has been left leads nowhere any more, however late its answers come: somebody may be typing elsewhere.
const goesFrom = (el, context) => Object.assign(Object.create(context), { go(hash) { if (el.isConnected) context.go(hash); } });

// What the air of a place did; where nobody read it yet, or somebody wants to, the form.
const hasPlot = ({ place, enter }, { shop }) => place && !enter && shop.places.find((one) => one.id === Number(place))?.air;

// Resolves with a function (el, params, context) that draws the view into the element and returns {update?, creep?}; rejects where it could not be fetched.
export async function load(name, params, context) {
  const [modules, pick] = name === 'air' && hasPlot(params, context) ? airPlot : VIEWS[name];
  const [parts] = await Promise.all([modules(), loadStyle()]);
  const make = pick(parts);
  return (el, given, all) => make(el, given, goesFrom(el, all));
}
