// Small shapes: the gate of a window (36 by 32), and the pictures of the caution plate (24 by 24). Drawn in currentColor.
import { s } from './dom.js';

const POSTS = 'M3 3V29M33 3V29';
const path = (d, extra = {}) => s('path', { d, ...extra });
const solid = (d) => path(d, { class: 'solid' });

const GATES = {
  open: () => [path(POSTS), solid('M5 6L17 10V24L5 27Z')],
  closing: () => [path(POSTS), solid('M5 6L29 8V25L5 27Z')],
  waiting: () => [path(POSTS), ...[10, 18, 26].map((x) => s('circle', { cx: x, cy: 16, r: 2, class: 'solid' }))],
  shut: () => [path('M3 6H33M3 26H33'), path('M5 6L15 26M15 6L25 26M25 6L32 20M15 6L5 26M25 6L15 26M32 12L25 26', { 'stroke-width': 1.8 })],
  scuff: () => [path(POSTS), path('M8 25L13 8L18 23L23 8L28 25')],
  wipe: () => [path(POSTS), path('M7 20C11 6 15 6 18 16S25 26 29 11')],
  missed: () => [path('M3 3V29M33 3V12M33 20V29'), path('M9 7L27 26M27 7L9 26')],
  used: () => [path('M3 16H22'), solid('M22 9H34V23H22Z')],
  finger: () => [path('M6 30V15A12 12 0 0 1 30 15V30M12 30V15A6 6 0 0 1 24 15V30M18 30V16')],
  reached: () => [solid('M18 2L34 16L18 30L2 16Z'), path('M11 16L16 21L25 11', { class: 'cut' })],
  inspect: () => [path('M18 3L33 16L18 29L3 16Z')],
  stalled: () => [solid('M3 5H33V15H3Z'), solid('M3 14H9V27H3ZM15 14H21V27H15ZM27 14H33V27H27Z')],
  handsoff: () => [solid('M3 5H33V15H3Z'), path('M6 14V28M14 14V28M22 14V28M30 14V28')],
};

export function gate(name, cls = '') {
  return s('svg', { class: `gate ${cls}`, viewBox: '0 0 36 32', 'aria-hidden': 'true', focusable: 'false' }, (GATES[name] || GATES.waiting)());
}

const PICTURES = {
  rags: () => [path('M4 10H20L18 21H6ZM4 10C6 2 18 2 20 10'), path('M9 6C10 9 13 5 15 8')],
  ventilation: () => [s('circle', { cx: 12, cy: 12, r: 2, class: 'solid' }), path('M12 10C8 5 12 2 15 3C15 6 14 8 12 10M14 13C20 12 22 16 20 19C17 18 15 16 14 13M10 13C8 18 3 18 2 15C4 12 7 12 10 13')],
  flame: () => [path('M12 3C18 9 18 12 17 15A5.500 5.500 0 0 1 7 15C6 12 9 10 12 3M3 3L21 21')],
  'label-first': () => [path('M5 3H19V21H5ZM8 8H16M8 12H16M8 16H13')],
  respirator: () => [path('M5 9C8 6 16 6 19 9V15C16 20 8 20 5 15ZM5 9L2 7M19 9L22 7'), s('circle', { cx: 12, cy: 13, r: 2.500, class: 'solid' })],
  lead: () => [path('M3 20H21M6 20L12 5L18 20M12 10V14M12 16V17')],
};
const OTHER = () => [path('M12 3L22 21H2ZM12 10V15M12 17V18')];

export function picture(code) {
  return s('svg', { class: 'picture', viewBox: '0 0 24 24', 'aria-hidden': 'true', focusable: 'false' }, (PICTURES[code] || OTHER)());
}

export function filmPicture(kind) {
  const shapes = { light: 'M4 10H64V13H4Z', normal: 'M4 7H64V15H4Z', heavy: 'M4 4H64V14C58 20 10 20 4 14Z' };
  return s('svg', { class: 'filmpic', viewBox: '0 0 68 20', 'aria-hidden': 'true' }, solid(shapes[kind]));
}
