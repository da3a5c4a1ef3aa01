// An adhesion test: a whole grade for tape, a force with its unit for the others.

import { localDay } from "./clock.js";
import { contextOf, gone, sizeOf } from "./context.js";
import { choice, field, h, numberInput } from "./dom.js";
import { keepDraft, valuesOf } from "./drafts.js";
import { uuid7 } from "./ids.js";
import { redraw } from "./news.js";
import { walkingOrder } from "./plan.js";
import { placePicker } from "./planview.js";
import { save, saveArea } from "./saving.js";
import { typedNumber } from "./units.js";
import { t } from "./words.js";

const METHODS = ["TAPE_X", "PULL_OFF", "PEEL"];
const UNITS = { PULL_OFF: [["psi", "psi"], ["MPa", "MPa"]], PEEL: [["lbf/in", "lbf/in"], ["N/m", "N/m"]] };
const GRADES = ["5", "4", "3", "2", "1", "0"].map((grade) => [grade, grade]);

export async function viewPatch(uuid) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const { visit, state } = context;
  const place = saveArea();
  const picker = placePicker({ size: sizeOf(visit), penetrations: walkingOrder(state.penetrations) });
  const grade = choice("grade", t("patch.grade"), GRADES, null);
  const force = h("div", {}, field(t("patch.value"), numberInput("value")), choice("unit", t("patch.unit"), [...UNITS.PULL_OFF, ...UNITS.PEEL], null));
  const form = h("form", { novalidate: true },
    choice("method", t("patch.method"), METHODS.map((one) => [one, t(`patch.${one}`)]), "TAPE_X"),
    grade, force, h("p", { class: "hint" }, t("patch.hint")), picker.element, place,
    h("button", { type: "submit", class: "main-key" }, t("keep")));
  await keepDraft(form, `patch/${uuid}`);
  picker.restore();
  const fit = () => {
    const isTape = valuesOf(form).method === "TAPE_X";
    grade.hidden = !isTape;
    force.hidden = isTape;
  };
  form.addEventListener("input", fit);
  fit();
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const body = bodyOf(valuesOf(form), picker.place);
    if (!body) place.replaceChildren(h("p", { class: "fault" }, t("number-wrong")));
    else if (await save(place, visit, "adhesion", body, { drafts: [`patch/${uuid}`] })) redraw();
  });
  const kept = state.adhesion.map((one) => h("li", {}, `${t(`patch.${one.method}`)} · ${one.grade ?? `${one.value} ${one.unit}`}`));
  return { title: t("tool.patch"), over: context.over, back: `/visit/${uuid}`, nodes: [form, kept.length > 0 && [h("h2", {}, t("deck.so-far")), h("ul", { class: "plain" }, kept)]] };
}

function bodyOf({ method, grade, value, unit }, at) {
  const where = { x_m: at?.x ?? null, y_m: at?.y ?? null, happened_on: localDay() };
  if (method === "TAPE_X") return grade === null ? null : { uuid: uuid7(), method, grade: Number(grade), coat: "", ...where };
  const force = typedNumber(value);
  return force === null || !unit ? null : { uuid: uuid7(), method, value: force, unit, coat: "", ...where };
}
