// Drawings as descriptions; what stands on the page already is changed only where it differs.
const SVG = 'http://www.w3.org/2000/svg';
const PUT = Symbol('what was put on an element');

class Sketch {
  constructor(tag, props, kids) { this.tag = tag; this.props = props; this.kids = []; this.append(...kids); }
  append(...kids) { for (const kid of kids) if (Array.isArray(kid)) this.append(...kid); else if (kid) this.kids.push(kid); }
}

export const s = (tag, props = {}, ...kids) => new Sketch(tag, props, kids);

// In place of a child: what stands there stays as it is.
export const LEAVE = Symbol('as it is');

// Out of sight until it is drawn again.
export function hide(el) {
  if (el[PUT].display === 'none') return;
  el[PUT] = { ...el[PUT], display: 'none' };
  el.setAttribute('display', 'none');
}

const isThere = (value) => value !== null && value !== undefined && value !== false;

function dress(el, { props, kids }) {
  const was = el[PUT] || {};
  for (const name in props) if (props[name] !== was[name] && isThere(props[name])) el.setAttribute(name, props[name]);
  for (const name in was) if (isThere(was[name]) && !isThere(props[name])) el.removeAttribute(name);
  el[PUT] = props;
  putOn(el, kids);
  return el;
}

const make = (sketch) => dress(document.createElementNS(SVG, sketch.tag), sketch);

// The children of an element become these.
export function putOn(el, kids) {
  let child = el.firstChild;
  for (const kid of kids) {
    if (typeof kid === 'string') { if (child?.data !== kid) el.textContent = kid; return; }
    const next = child?.nextSibling || null;
    if (kid !== LEAVE) {
      if (child?.localName === kid.tag) dress(child, kid);
      else if (child) child.replaceWith(make(kid));
      else el.append(make(kid));
    }
    child = next;
  }
  while (child) { const next = child.nextSibling; child.remove(); child = next; }
}
