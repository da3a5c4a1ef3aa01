// What is typed is kept at every keystroke, before any camera opens.
//
// Twice: a page that is taken away this very moment has finished no transaction, so the
// small synchronous store has it first, and the database has it for good.

import { get, put, remove, removeQuick, quick, setQuick } from "./store.js";

let lastStamp = 0;

/** Now, and later than any stamp before: two keystrokes of one moment have an order. */
const stamp = () => (lastStamp = Math.max(Date.now(), lastStamp + 1));

/** Fill a form from its draft and keep whatever changes in it from now on. */
export async function keepDraft(form, key) {
  const newest = newestOf(await get("drafts", key), quick(key), taken.get(key));
  fillAll(form, newest);
  Object.assign(form.dataset, { draft: key, at: newest?.at ?? 0 });
  form.addEventListener("input", () => setDraft(key, valuesOf(form)));
}

/** Give forms that take the place of others what was typed while they were built. */
export function catchUp(root) {
  for (const form of root.querySelectorAll("form[data-draft]")) {
    const last = newestOf(quick(form.dataset.draft), taken.get(form.dataset.draft));
    if (!last || last.at < Number(form.dataset.at)) continue;
    const before = JSON.stringify(valuesOf(form));
    fillAll(form, last);
    if (JSON.stringify(valuesOf(form)) !== before) form.dispatchEvent(new Event("input"));
  }
}

/** Keep the values of a form, also of one that will be opened next. */
export function setDraft(key, values) {
  const kept = { at: stamp(), values };
  setQuick(key, kept);
  return put("drafts", kept, key, "relaxed");
}

// Forms whose number was taken out and is being kept; a killed page forgets them, and
// the number stands in its input again.
const taken = new Map();

const newestOf = (...drafts) => drafts.reduce((newest, one) => ((one?.at ?? 0) > (newest?.at ?? 0) ? one : newest), null);

/** The draft of a form whose number was taken out: stored together with the number. */
export function takenFrom(form) {
  const emptied = { key: form.dataset.draft, kept: { at: stamp(), values: valuesOf(form) } };
  taken.set(emptied.key, emptied.kept);
  return emptied;
}

export async function dropDraft(key) {
  removeQuick(key);
  await remove("drafts", key);
}

function fillAll(form, draft) {
  for (const [name, value] of Object.entries(draft?.values ?? {})) fill(form, name, value);
}

function fill(form, name, value) {
  const control = form.elements.namedItem(name);
  if (!control || value === null) return;
  if (control instanceof RadioNodeList || control.type === "radio") {
    for (const one of form.querySelectorAll(`[name="${name}"]`)) one.checked = one.value === value;
  } else if (control.type === "checkbox") control.checked = value === true;
  else control.value = value;
}

export function valuesOf(form) {
  const values = {};
  for (const control of form.elements) {
    if (!control.name || control.type === "file") continue;
    if (control.type === "radio") values[control.name] = control.checked ? control.value : (values[control.name] ?? null);
    else if (control.type === "checkbox") values[control.name] = control.checked;
    else values[control.name] = control.value;
  }
  return values;
}
