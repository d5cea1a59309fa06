// Builds elements. Text is always set as text, never parsed as HTML.
const SVG = 'http://www.w3.org/2000/svg';

function apply(el, props) {
  for (const [name, value] of Object.entries(props)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith('on')) el.addEventListener(name.slice(2), value);
    else if (name === 'value' || name === 'checked' || name === 'disabled') el[name] = value;
    else el.setAttribute(name, value === true ? '' : String(value));
  }
}

export function fill(el, kids) {
  for (const kid of kids.flat(3)) if (kid !== null && kid !== undefined && kid !== false) el.append(kid);
  return el;
}

export function h(tag, props = {}, ...kids) {
  const el = document.createElement(tag);
  apply(el, props);
  return fill(el, kids);
}

export function s(tag, props = {}, ...kids) {
  const el = document.createElementNS(SVG, tag);
  apply(el, props);
  return fill(el, kids);
}

const stops = (el) => [...el.querySelectorAll(':is(a, button, [data-focus]):not(:disabled)')];
const nameOf = (stop) => stop.dataset.focus || stop.getAttribute('aria-label') || stop.getAttribute('href') || stop.textContent;

// Puts new children in, keeping the keyboard where it was; where that has gone, or takes no more presses, at the next that is still there, or the one before, or the view.
export function replace(el, ...kids) {
  const before = stops(el), place = before.indexOf(document.activeElement), names = before.map(nameOf);
  el.replaceChildren();
  fill(el, kids);
  if (place < 0) return el;
  const now = new Map(stops(el).reverse().map((stop) => [nameOf(stop), stop]));
  const near = [...names.splice(place), ...names.reverse()].find((name) => now.has(name));
  (now.get(near) || document.getElementById('view')).focus({ preventScroll: true });
  return el;
}

// A hang tag: what a hand may take. `filled` only for what may be done now.
export function tag(label, { filled = false, small = false, href = null, ...props } = {}, ...kids) {
  const cls = `tag${filled ? ' filled' : ''}${small ? ' small' : ''}`;
  return href === null ? h('button', { type: 'button', class: cls, ...props }, label, ...kids) : h('a', { class: cls, href, ...props }, label, ...kids);
}
