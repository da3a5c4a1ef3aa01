// The keys of the pad, large enough for a wet glove, around the coat's wet target.

import { button, h, numberInput } from "./dom.js";
import { keepDraft } from "./drafts.js";
import { isTooth, teethAround } from "./gauge.js";
import { say, takeOut } from "./takeout.js";
import { typedNumber } from "./units.js";
import { t } from "./words.js";

export async function padOf({ visit, coat, unit, work, ontooth, onundo }) {
  const half = work.spot.half;
  const inUnit = half?.unit ?? unit;
  const teeth = teethAround(Number(coat.wet_target_um), inUnit);
  const key = (tooth) => button(String(tooth), () => ontooth(String(tooth), inUnit), {
    class: half && isNext(tooth, half, teeth) ? "tooth tooth-next" : "tooth",
    disabled: half !== null && tooth <= Number(half.tooth),
  });
  return h("div", { class: "pad" },
    h("p", { class: "pad-head" }, h("span", {}, h("strong", {}, half ? t("film.first-dry") : t("film.last-wet")), `, ${inUnit === "um" ? "µm" : inUnit}`),
      half && h("span", { class: "pad-where" }, t("film.wet-was", { wet: half.tooth }))),
    h("div", { class: "teeth" }, teeth.map(key)),
    h("div", { class: "pad-foot" },
      button(t("film.undo"), onundo, { class: "quiet", disabled: !half && !work.spot.shots.length }),
      await otherTooth({ visit, half, inUnit, ontooth })));
}

const isNext = (tooth, half, teeth) => tooth === teeth.find((one) => one > Number(half.tooth));

/** A tooth that has no key: typed, and checked before it counts. */
async function otherTooth({ visit, half, inUnit, ontooth }) {
  const told = h("p", { class: "fault", role: "alert", hidden: true });
  const input = numberInput("other", "", { "aria-label": t("film.other-value", { unit: inUnit === "um" ? "µm" : inUnit }), placeholder: t("film.other") });
  const form = h("form", { class: "other-tooth", novalidate: true }, input, h("button", { type: "submit", class: "quiet" }, t("keep")), told);
  await keepDraft(form, `tooth/${visit.uuid}`);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const typed = typedNumber(input.value);
    const isGood = typed !== null && isTooth(Number(typed), inUnit) && (half === null || Number(typed) > Number(half.tooth));
    if (isGood) takeOut({ form, input, told, keep: (emptied) => ontooth(typed, inUnit, emptied), refused: () => t("film.too-low") });
    else say(told, t("film.too-low"));
  });
  return form;
}
