// What is typed is kept at every keystroke, before any camera opens.

import { get, put, remove } from "./store.js";

/** Fill a form from its draft and keep whatever changes in it from now on. */
export async function keepDraft(form, key) {
  const kept = (await get("drafts", key)) ?? {};
  for (const [name, value] of Object.entries(kept)) fill(form, name, value);
  form.addEventListener("input", () => put("drafts", valuesOf(form), key));
  form.dataset.draft = key;
  return kept;
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

export const draft = (key) => get("drafts", key);
export const setDraft = (key, value) => put("drafts", value, key);
export const dropDraft = (key) => remove("drafts", key);
