// A finding or a holiday: how bad, why, where, and then its photo.

import { localDay } from "./clock.js";
import { contextOf, gone, sizeOf } from "./context.js";
import { changeKeys, correctedOf, correcting, supersededBy, supersedesInput } from "./correcting.js";
import { choice, field, goTo, h } from "./dom.js";
import { keepDraft, valuesOf } from "./drafts.js";
import { uuid7 } from "./ids.js";
import { anew } from "./news.js";
import { walkingOrder } from "./plan.js";
import { placePicker } from "./planview.js";
import { isUs } from "./prefs.js";
import { save, saveArea } from "./saving.js";
import { CAUSES } from "./steps.js";
import { fromM, shown } from "./units.js";
import { t } from "./words.js";
import { findingLine } from "./view_roof.js";

const SEVERITIES = ["NOTE", "MINOR", "SERIOUS"];

export async function viewFinding(uuid) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const { visit, state } = context;
  const [place, struckAt] = [saveArea(), saveArea()];
  const seals = walkingOrder(state.penetrations);
  const marks = state.finding.filter((one) => one.x_m !== null).map((one) => ({ x: one.x_m, y: one.y_m, shape: "finding" }));
  const picker = placePicker({ size: sizeOf(visit), penetrations: seals, marks });
  const help = h("p", { class: "hint", "aria-live": "polite" });
  const draft = `finding/${uuid}`;
  const form = h("form", { novalidate: true }, supersedesInput(),
    choice("severity", t("finding.severity"), SEVERITIES.map((one) => [one, t(`severity.${one}`)]), null), help,
    choice("cause", t("finding.cause"), CAUSES.map((one) => [one, t(`cause.${one}`)]), null),
    picker.element,
    seals.length > 0 && choice("label", t("finding.at"), [["", t("finding.nowhere")], ...seals.map((one) => [one.label, one.label])], ""),
    field(t("finding.note"), h("textarea", { name: "note", rows: 3, maxlength: 4000 })),
    place,
    h("button", { type: "submit", class: "main-key" }, t("finding.keep")));
  await keepDraft(form, draft);
  picker.restore();
  const explain = () => {
    const { severity } = valuesOf(form);
    help.textContent = severity ? t(`severity-help.${severity}`) : "";
  };
  form.addEventListener("input", explain);
  explain();
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const { severity, cause, label, note } = valuesOf(form);
    if (!severity || !cause) {
      place.replaceChildren(h("p", { class: "fault" }, t("finding.choose")));
      return;
    }
    const at = picker.place;
    const body = { uuid: uuid7(), severity, cause, penetration_label: label ?? "", x_m: at?.x ?? null, y_m: at?.y ?? null, note: note.trim(), happened_on: correctedOf(form, state.finding)?.happened_on ?? localDay(), supersedes: supersededBy(form) };
    if (await save(place, visit, "finding", body, { drafts: [draft] })) anew();
  });
  return { title: t("tool.finding"), over: context.over, back: `/visit/${uuid}`, nodes: [soFar(context, { place: struckAt, draft }), correcting(form, draft), form] };
}

function valuesToType({ severity, cause, penetration_label: label, note, x_m: x, y_m: y }) {
  const typed = (metres) => (metres === null ? "" : shown(fromM(Number(metres), isUs()), 2));
  return { severity, cause, label, note, place_x: typed(x), place_y: typed(y) };
}

function soFar({ visit, state }, { place, draft }) {
  if (!state.finding.length) return null;
  const last = [...state.finding].reverse();
  return [h("h2", {}, t("finding.so-far")), place, h("ul", { class: "cards" }, last.map((one) => {
    const photos = state.photo.filter((photo) => one.names.includes(photo.finding)).length;
    return h("li", {}, h("p", { class: "line" }, findingLine(one)), goTo(`/visit/${visit.uuid}/photos/${one.uuid}`, `${t("photos.take")}${photos ? ` (${photos})` : ""}`),
      changeKeys({ place, visit, kind: "finding", one, what: `${t(`cause.${one.cause}`)} ${one.note}`, draft, values: valuesToType(one) }));
  }))];
}
