// Lots and volumes: what was opened, which batch, how much of it went on.

import { localDay } from "./clock.js";
import { contextOf, gone } from "./context.js";
import { changeKeys, correctedOf, correcting, supersededBy, supersedesInput } from "./correcting.js";
import { choice, field, h, numberInput } from "./dom.js";
import { keepDraft, valuesOf } from "./drafts.js";
import { uuid7 } from "./ids.js";
import { redraw } from "./news.js";
import { isUs } from "./prefs.js";
import { save, saveArea } from "./saving.js";
import { shown, typedNumber } from "./units.js";
import { t } from "./words.js";

export async function viewCoats(uuid) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const place = saveArea();
  const roles = context.system?.coats.map((coat) => coat.role) ?? ["primer", "base", "detail", "finish"];
  const draft = `coats/${uuid}`;
  const form = h("form", { novalidate: true }, supersedesInput(),
    choice("coat", t("coat.which"), roles.map((role) => [role, t(`coat.${role}`)]), roles[0]),
    field(t("coats.lot"), h("input", { name: "lot", autocomplete: "off", autocapitalize: "characters", maxlength: 40 })),
    field(t("coats.volume"), numberInput("volume")),
    choice("unit", t("coats.unit"), [["gal", t("unit.gal")], ["l", t("unit.l")]], isUs() ? "gal" : "l"),
    field(t("coats.thinner"), numberInput("thinner", "0")),
    place,
    h("button", { type: "submit", class: "main-key" }, t("keep")));
  await keepDraft(form, draft);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const { coat, lot, volume, unit, thinner } = valuesOf(form);
    const [used, thinned] = [typedNumber(volume), typedNumber(thinner || "0")];
    if (!lot.trim() || used === null || thinned === null) {
      place.replaceChildren(h("p", { class: "fault" }, lot.trim() ? t("number-wrong") : t("coats.no-lot")));
      return;
    }
    const body = { uuid: uuid7(), coat, lot: lot.trim(), volume: used, volume_unit: unit, thinner_ratio: ratioOf(thinned), happened_on: correctedOf(form, context.state.coat_log)?.happened_on ?? localDay(), supersedes: supersededBy(form) };
    if (await save(place, context.visit, "coat_log", body, { drafts: [draft] })) redraw();
  });
  return { title: t("tool.coats"), over: context.over, back: `/visit/${uuid}`, nodes: [correcting(form, draft), form, soFar(context, { place, draft })] };
}

const ratioOf = (percent) => (Number(percent) / 100).toFixed(4);

const valuesToType = ({ coat, lot, volume, volume_unit: unit, thinner_ratio: ratio }) => ({ coat, lot, volume, unit, thinner: shown(Number(ratio) * 100, 2) });

function soFar({ visit, state }, { place, draft }) {
  if (!state.coat_log.length) return null;
  const line = (one) => `${t(`coat.${one.coat}`)} · ${one.lot} · ${one.volume} ${t(`unit.${one.volume_unit}`)}${Number(one.thinner_ratio) ? ` · +${shown(one.thinner_ratio * 100)} %` : ""} · ${one.happened_on}`;
  return [h("h2", {}, t("coats.so-far")), h("ul", { class: "plain" }, state.coat_log.map((one) => h("li", {}, line(one),
    changeKeys({ place, visit, kind: "coat_log", one, what: line(one), draft, values: valuesToType(one) }))))];
}
