// A number leaves its input the moment it is kept: the next may be typed at once.

import { setDraft, takenFrom, valuesOf } from "./drafts.js";
import { t } from "./words.js";

export function say(told, words) {
  told.textContent = words;
  told.hidden = !words;
}

/**
 * Empty the input, then keep what stood in it. The input is empty before anything is
 * awaited; what was not kept comes back, or is named where something new stands already.
 */
export async function takeOut({ form, input, told, keep, refused = (typed) => t("film.not-kept", { typed }) }) {
  const typed = input.value;
  input.value = "";
  say(told, "");
  const emptied = takenFrom(form);
  if (await keep(emptied)) return;
  say(told, refused(typed));
  if (input.value) return;
  input.value = typed;
  setDraft(emptied.key, valuesOf(form));
}
