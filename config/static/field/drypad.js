// A dry gauge at an inspection: which gauge, and the number on its face.

import { choice, h, button, numberInput } from "./dom.js";
import { keepDraft, valuesOf } from "./drafts.js";
import { say, takeOut } from "./takeout.js";
import { typedNumber } from "./units.js";
import { t } from "./words.js";

// Eddy current reads over aluminium, ultrasound over fibreglass, a cut through membranes.
const USUAL = { ALUMINIUM: "EDDY_CURRENT", FIBREGLASS: "ULTRASONIC", EPDM: "CUT_FILM", TPO: "CUT_FILM" };
const METHODS = ["EDDY_CURRENT", "ULTRASONIC", "CUT_FILM"];
const MOST = { mil: 98, um: 2500 };

/** Visits that read film long after it has dried. */
export const readsDry = (visit) => ["SURVEY", "INSPECTION", "REINSTATEMENT"].includes(visit.kind);

export async function dryPad({ visit, unit, work, onread, onundo }) {
  const shownUnit = unit === "um" ? "µm" : unit;
  const told = h("p", { class: "fault", role: "alert", hidden: true });
  const value = numberInput("value", "", { "aria-label": t("film.value", { unit: shownUnit }), placeholder: t("film.value", { unit: shownUnit }) });
  const form = h("form", { class: "pad", novalidate: true },
    choice("method", t("film.gauge"), METHODS.map((one) => [one, t(`film.${one}`)]), USUAL[visit.roof.coach.substrate] ?? "CUT_FILM"),
    h("div", { class: "pad-foot" }, button(t("film.undo"), onundo, { class: "quiet", disabled: !work.spot.shots.length }),
      h("div", { class: "other-tooth" }, value, h("button", { type: "submit" }, t("keep")), told)));
  await keepDraft(form, `gauge/${visit.uuid}`);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const typed = typedNumber(value.value);
    const isGood = typed !== null && Number(typed) >= 0 && Number(typed) <= MOST[unit];
    const { method } = valuesOf(form);
    if (isGood) takeOut({ form, input: value, told, keep: (emptied) => onread({ method, value: typed, unit }, emptied) });
    else say(told, t("number-wrong"));
  });
  return form;
}
