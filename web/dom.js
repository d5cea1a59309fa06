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

function fill(el, kids) {
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

// Puts new children in, keeping the keyboard where it was: an element with the same data-focus is focused again.
export function replace(el, ...kids) {
  const held = document.activeElement;
  const key = held && el.contains(held) ? held.dataset.focus : null;
  el.replaceChildren();
  fill(el, kids);
  if (key) el.querySelector(`[data-focus="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
  return el;
}

// A hang tag: what a hand may take. `filled` only for what may be done now.
export function tag(label, { filled = false, small = false, href = null, ...props } = {}, ...kids) {
  const cls = `tag${filled ? ' filled' : ''}${small ? ' small' : ''}`;
  return href === null ? h('button', { type: 'button', class: cls, ...props }, label, ...kids) : h('a', { class: cls, href, ...props }, label, ...kids);
}

let fieldCount = 0;
// A labelled control. `control` is an element; `hint` stands under the label.
export function field(label, control, hint = '') {
  const id = `f${(fieldCount += 1)}`;
  control.id = id;
  if (hint) control.setAttribute('aria-describedby', `${id}h`);
  return h('div', { class: 'field' }, h('label', { for: id }, label), hint && h('small', { id: `${id}h` }, hint), control);
}

export function number(name, { min, max, step = 'any', value = '', ...rest } = {}) {
  return h('input', { type: 'number', inputmode: 'decimal', name, min, max, step, value, ...rest });
}

export function select(name, options, chosen) {
  const el = h('select', { name }, options.map(([value, text]) => h('option', { value }, text)));
  el.value = chosen ?? options[0]?.[0] ?? '';
  return el;
}

// A row of large choices (one of them chosen). items: [{value, text, note, picture}]
export function choices(name, label, items, chosen, onchoose, more = null) {
  const group = h('div', { class: 'choices', role: 'radiogroup', 'aria-label': label });
  for (const item of items) {
    const input = h('input', { type: 'radio', name, value: item.value, checked: String(item.value) === String(chosen), 'data-focus': `${name}:${item.value}` });
    input.addEventListener('change', () => onchoose(item.value));
    group.append(h('label', { class: 'choice' }, input, h('span', {}, item.picture, h('b', {}, item.text), item.note && h('small', {}, item.note))));
  }
  return fill(group, [more]);
}
