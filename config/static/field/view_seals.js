// Penetrations in walking order: how the sealant is, whether detailed, new ones.

import { answer } from "./checks.js";
import { localDay } from "./clock.js";
import { contextOf, gone, sizeOf } from "./context.js";
import { button, choice, field, h, numberInput } from "./dom.js";
import { keepDraft, valuesOf } from "./drafts.js";
import { sealStep } from "./holds.js";
import { uuid7 } from "./ids.js";
import { anew, redraw } from "./news.js";
import { walkingOrder } from "./plan.js";
import { placePicker, planView } from "./planview.js";
import { isUs } from "./prefs.js";
import { save, saveArea } from "./saving.js";
import { CONDITIONS } from "./steps.js";
import { typedNumber } from "./units.js";
import { sealName } from "./view_roof.js";
import { t } from "./words.js";

const KINDS = ["VENT", "AIR_CONDITIONER", "SKYLIGHT", "REFRIGERATOR_VENT", "SEWER_VENT", "ANTENNA", "LADDER_FOOT", "SOLAR_FOOT", "CAP_SEAM", "SIDE_SEAM", "MARKER_LIGHT", "CABLE_COVER", "OTHER"];

export async function viewSeals(uuid) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const place = saveArea();
  const seals = walkingOrder(context.state.penetrations);
  return {
    title: t("tool.seals"), over: context.over, back: `/visit/${uuid}`,
    nodes: [
      seals.length > 0 ? planView({ ...sizeOf(context.visit), penetrations: seals }) : h("p", {}, t("seals.none")),
      place,
      h("ol", { class: "seals" }, seals.map((one, index) => h("li", {}, sealCard(place, context, one, index)))),
      h("details", { open: seals.length === 0 }, h("summary", {}, t("seals.add")), await addForm(place, context)),
    ],
  };
}

function sealCard(place, context, one, index) {
  const step = sealStep(one);
  const said = context.state.check.get(step)?.note;
  const keys = CONDITIONS.map((condition) =>
    button(t(`condition.${condition}`), async () => {
      const verdict = condition === "intact" ? "YES" : "NO";
      if (await answer(place, context, step, verdict, condition)) redraw();
    }, { class: "answer", "aria-pressed": String(said === condition) }));
  const title = h("h2", {}, `${index + 1} ${sealName(one)}`);
  return [title,
    h("div", { role: "group", "aria-label": `${one.label}: ${t("seals.look")}`, class: "answers answers-wrap" }, keys),
    one.is_detailed ? h("p", { class: "done" }, t("seals.detailed"))
      : button(t("seals.mark"), async () => {
        if (await save(place, context.visit, "penetration", detailed(one))) redraw();
      }, { class: "quiet" })];
}

/** The same penetration, now detailed: a record that takes the place of the former. */
function detailed(one) {
  return {
    uuid: uuid7(), supersedes: one.uuid, label: one.label, kind: one.kind,
    x: one.x_m, y: one.y_m, place_unit: "m", width: one.width ?? one.width_m, length: one.length ?? one.length_m, size_unit: one.size_unit ?? "m",
    is_detailed: true, happened_on: localDay(),
  };
}

async function addForm(place, context) {
  const { visit } = context;
  const unit = isUs() ? "in" : "m";
  const picker = placePicker({ size: sizeOf(visit), penetrations: walkingOrder(context.state.penetrations) });
  const form = h("form", { novalidate: true },
    choice("kind", t("seals.kind"), KINDS.map((kind) => [kind, t(`pen.${kind}`)]), "VENT"),
    field(t("seals.label"), h("input", { name: "label", maxlength: 80, autocomplete: "off" })),
    h("div", { class: "two" }, field(t("seals.width", { unit }), numberInput("width", isUs() ? "14" : "0.36")), field(t("seals.length", { unit }), numberInput("length", isUs() ? "14" : "0.36"))),
    picker.element,
    h("button", { type: "submit", class: "main-key" }, t("keep")));
  await keepDraft(form, `seal/${visit.uuid}`);
  picker.restore();
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const { kind, label, width, length } = valuesOf(form);
    const [wide, long, at] = [typedNumber(width), typedNumber(length), picker.place];
    const isGood = label.trim() && Number(wide) > 0 && Number(long) > 0 && at;
    if (!isGood) {
      place.replaceChildren(h("p", { class: "fault" }, t("seals.need")));
      return;
    }
    const body = { uuid: uuid7(), label: label.trim(), kind, x: at.x, y: at.y, place_unit: "m", width: wide, length: long, size_unit: unit, is_detailed: false, happened_on: localDay() };
    if (await save(place, visit, "penetration", body, { drafts: [`seal/${visit.uuid}`] })) anew();
  });
  return form;
}
