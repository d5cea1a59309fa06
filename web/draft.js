// What is typed and not written yet: kept over a reload of this tab, and where a view is drawn anew under its form. Leaving the view drops it, and so does sending it.
const KEPT = 'coat-drafts', OLD_MS = 15 * 60e3; // what was "now" by then is so no more

let hash = location.hash, drafts = {}; // name -> what its form reads
const forms = new WeakMap(); // form -> {name, save}

try {
  const kept = JSON.parse(sessionStorage.getItem(KEPT));
  if (kept.hash === hash && Date.now() - kept.at < OLD_MS) drafts = kept.drafts;
} catch { /* nothing was kept */ }

function current() {
  if (hash !== location.hash) { hash = location.hash; drafts = {}; store(); }
  return drafts;
}

function store() {
  try { sessionStorage.setItem(KEPT, JSON.stringify({ hash, at: Date.now(), drafts })); } catch { /* a reload loses it */ }
}

export const draftOf = (name) => current()[name];

// Keeps what `read` gives of a form from its first change on.
export function keepDraft(name, form, read) {
  const save = () => { current()[name] = read(); store(); };
  forms.set(form, { name, save });
  for (const event of ['input', 'change']) form.addEventListener(event, save);
  return form;
}

// ---- a form that keeps its own values ----

const isTicked = (control) => control.type === 'radio' || control.type === 'checkbox';
const property = (control) => (isTicked(control) ? 'checked' : 'value');
const read = (form) => [...form.elements].filter((control) => control.name).map((control) => [control.name, control[property(control)]]);

function fillIn(form, values) {
  for (const [i, control] of [...form.elements].filter((one) => one.name).entries()) {
    const [name, value] = values[i] || [];
    if (name !== control.name || value === control[property(control)]) continue;
    control[property(control)] = value;
    const fold = control.closest('details');
    if (fold) fold.open = true;
    if (value !== false) for (const event of ['input', 'change']) control.dispatchEvent(new Event(event));
  }
}

export function drafted(name, form) {
  const was = draftOf(name);
  if (was) fillIn(form, was);
  return keepDraft(name, form, () => read(form));
}

// ---- when it is sent ----

// From then on the write keeps it.
export function dropDraft(form) {
  const { name } = forms.get(form) || {};
  if (!name) return;
  delete current()[name];
  store();
}

// It was refused, and stands in its form as before.
export function takeDraftUp(form) { if (form?.isConnected) forms.get(form)?.save(); }

addEventListener('hashchange', current);
