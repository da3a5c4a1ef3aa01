// What was kept can be put right: corrected by a record that takes its place, or struck.

import { button, h } from "./dom.js";
import { dropDraft, setDraft, valuesOf } from "./drafts.js";
import { uuid7 } from "./ids.js";
import { anew, redraw } from "./news.js";
import { save } from "./saving.js";
import { t } from "./words.js";

/** Part of a form's draft: which record the next one takes the place of. */
export const supersedesInput = () => h("input", { type: "hidden", name: "supersedes" });

export const supersededBy = (form) => valuesOf(form).supersedes || null;

/** When something happened stays as it was, whatever else of it is corrected. */
export const correctedOf = (form, kept) => kept.find((one) => one.uuid === supersededBy(form));

/** Says above a form that it corrects something, with a key to let go of that. */
export function correcting(form, draft) {
  if (!supersededBy(form)) return null;
  return h("p", { class: "note" }, t("change.correcting"), " ",
    button(t("change.cancel"), async () => {
      await dropDraft(draft);
      anew();
    }, { class: "quiet" }));
}

/** Two keys beside a kept record, behind one more tap. */
export function changeKeys({ place, visit, kind, one, what, draft, values }) {
  if (visit.ended_at) return null;
  return h("details", { class: "change" }, h("summary", {}, t("change"), h("span", { class: "unseen" }, ` ${what}`)),
    h("div", { class: "two" },
      button(t("change.correct"), async () => {
        await setDraft(draft, { ...values, supersedes: one.uuid });
        anew();
      }, { class: "quiet" }),
      button(t("change.strike"), async () => {
        if (await save(place, visit, kind, struck(one))) redraw();
      }, { class: "quiet" })));
}

/** The same record once more, marked void: it strikes the first and replaces nothing. */
function struck({ made_at: _at, names: _names, ...body }) {
  return { ...body, uuid: uuid7(), supersedes: body.uuid, void: true };
}
