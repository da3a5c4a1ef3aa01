// What is typed is kept at every keystroke, before any camera opens.
//
// Twice: a page that is taken away this very moment has finished no transaction, so the
// small synchronous store has it first, and the database has it for good.

import { get, put, remove, removeQuick, quick, setQuick } from "./store.js";

/** Fill a form from its draft and keep whatever changes in it from now on. */
export async function keepDraft(form, key) {
  const [kept, last] = [await get("drafts", key), quick(key)];
  const newest = (last?.at ?? 0) > (kept?.at ?? 0) ? last : kept;
  for (const [name, value] of Object.entries(newest?.values ?? {})) fill(form, name, value);
  form.addEventListener("input", () => setDraft(key, valuesOf(form)));
}

/** Keep the values of a form, also of one that will be opened next. */
export function setDraft(key, values) {
  const kept = { at: Date.now(), values };
  setQuick(key, kept);
  return put("drafts", kept, key, "relaxed");
}

export async function dropDraft(key) {
  removeQuick(key);
  await remove("drafts", key);
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
