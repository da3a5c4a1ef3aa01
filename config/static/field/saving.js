// Keeping what was captured, and saying so when the phone refuses.

import { h } from "./dom.js";
import { NotSaved, seal } from "./outbox.js";
import { sync } from "./sync.js";
import { t } from "./words.js";

/**
 * Seal one operation and send it when there is a line. When the phone refuses, tell it
 * in `place` with a key to try again, and return null: whatever was typed stays.
 */
export async function save(place, visit, kind, body, extra = {}) {
  return attempt(place, () => seal(visit, kind, body, extra));
}

export async function attempt(place, act, { isToSend = true } = {}) {
  try {
    const done = await act();
    place.replaceChildren();
    // Not awaited: a slow line must not hold up the next reading.
    if (isToSend) sync({ anew: true });
    return done;
  } catch (error) {
    if (!(error instanceof NotSaved)) throw error;
    place.replaceChildren(refusal(error));
    place.scrollIntoView({ block: "nearest" });
    return null;
  }
}

function refusal(error) {
  const isFull = error.message === "QuotaExceededError";
  return h("p", { class: "fault", role: "alert" }, isFull ? t("store.full") : t("store.failed", { why: error.message }));
}

export const saveArea = () => h("div", { class: "save-area", "aria-live": "assertive" });

