// Climate: three readings, and the answer while they are typed.

import { judgeClimate, heatIndexF, weatherLimits } from "./climate.js";
import { localInstant } from "./clock.js";
import { contextOf, gone } from "./context.js";
import { changeKeys, correctedOf, correcting, supersededBy, supersedesInput } from "./correcting.js";
import { choice, field, h, numberInput } from "./dom.js";
import { keepDraft, valuesOf } from "./drafts.js";
import { judgedClimate } from "./holds.js";
import { uuid7 } from "./ids.js";
import { redraw } from "./news.js";
import { degrees } from "./prefs.js";
import { coatOf } from "./readings.js";
import { save, saveArea } from "./saving.js";
import { fFromC, shown, toC, typedNumber } from "./units.js";
import { t } from "./words.js";

export async function viewClimate(uuid) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const { visit, system } = context;
  const unit = degrees();
  const place = saveArea();
  const verdict = h("div", { class: "verdict", "aria-live": "polite" });
  const coats = (system?.coats ?? []).map((coat) => [coat.role, t(`coat.${coat.role}`)]);
  const draft = `climate/${uuid}`;
  const form = h("form", { novalidate: true }, supersedesInput(),
    coats.length > 0 && choice("coat", t("coat.which"), coats, lastCoat(context)),
    h("div", { class: "three" },
      field(`${t("climate.air")}, °${unit}`, numberInput("air")),
      field(`${t("climate.surface")}, °${unit}`, numberInput("surface")),
      field(t("climate.rh"), numberInput("rh_pct"))),
    verdict, place,
    h("button", { type: "submit", class: "main-key" }, t("keep")),
    h("p", { class: "hint" }, t("climate.borrowed")));
  await keepDraft(form, draft);
  const tellVerdict = () => verdict.replaceChildren(...verdictLines(read(form, unit), system));
  form.addEventListener("input", tellVerdict);
  tellVerdict();
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const typed = read(form, unit);
    if (typed.air === null || typed.surface === null || typed.rh === null) {
      place.replaceChildren(h("p", { class: "fault" }, `${t("climate.incomplete")} ${t("number-wrong")}`));
      return;
    }
    const body = { uuid: uuid7(), taken_at: correctedOf(form, context.state.climate)?.taken_at ?? localInstant(), air: typed.air, surface: typed.surface, temperature_unit: unit, rh_pct: typed.rh, coat: typed.coat ?? "", supersedes: supersededBy(form) };
    if (await save(place, visit, "climate", body, { drafts: [draft] })) redraw();
  });
  return { title: t("tool.climate"), over: context.over, back: `/visit/${uuid}`, nodes: [correcting(form, draft), form, soFar(context, { place, draft })] };
}

const lastCoat = ({ state, system }) => state.climate.at(-1)?.coat || system?.coats[0]?.role;

function read(form, unit) {
  const { air, surface, rh_pct: rh, coat = null } = valuesOf(form);
  return { air: typedNumber(air), surface: typedNumber(surface), rh: typedNumber(rh), coat, unit };
}

function verdictLines({ air, surface, rh, coat, unit }, system) {
  const limits = weatherLimits(coatOf(system, coat), system);
  const celsius = (value) => (value === null ? null : toC(Number(value), unit));
  const values = { airC: celsius(air), surfaceC: celsius(surface), rhPct: rh === null ? null : Number(rh) };
  const judged = judgeClimate(values, limits);
  const heat = air === null || rh === null ? null : heatIndexF(fFromC(values.airC), values.rhPct);
  return [
    h("p", { class: `says says-${judged.verdict.toLowerCase()}` }, t(`climate.${judged.verdict}`)),
    Number.isFinite(judged.dewC) && h("p", {}, t("climate.dew", { dew: temperature(judged.dewC, unit) })),
    Number.isFinite(judged.marginC) && h("p", {}, t(judged.marginC < 0 ? "climate.below" : "climate.margin", { margin: difference(Math.abs(judged.marginC), unit), need: difference(limits.dewMarginC, unit) })),
    ...judged.faults.map((fault) => h("p", {}, t(`climate.${fault}`, { limit: limitOf(fault, limits, unit) }))),
    heat !== null && heat >= 90 && h("p", {}, t("climate.heat", { index: temperature(((heat - 32) * 5) / 9, unit) })),
  ].filter(Boolean);
}

export const temperature = (c, unit) => `${shown(unit === "F" ? fFromC(c) : c)} °${unit}`;

const difference = (kelvin, unit) => `${shown(unit === "F" ? kelvin * 1.8 : kelvin)} °${unit}`;

function limitOf(fault, limits, unit) {
  if (fault === "air-low") return temperature(limits.airMinC, unit);
  if (fault === "air-high") return temperature(limits.airMaxC, unit);
  return shown(limits.rhMaxPct, 0);
}

function soFar({ visit, state, system }, { place, draft }) {
  if (!state.climate.length) return null;
  return [h("h2", {}, t("climate.so-far")), h("ul", { class: "plain" }, [...state.climate].reverse().map((one) => {
    const judged = judgedClimate(one, system);
    const unit = one.temperature_unit;
    const { air, surface, rh_pct, coat } = one;
    // Typed in the unit it was read in; the form may show the other one now.
    const values = unit === degrees() ? { air, surface, rh_pct, coat } : { rh_pct, coat };
    const line = `${one.taken_at.slice(0, 10)} ${one.taken_at.slice(11, 16)} · ${one.air} / ${one.surface} °${unit} · ${one.rh_pct} % · ${t("climate.dew", { dew: temperature(judged.dewC, unit) })} · ${t(`climate.${judged.verdict}`)}`;
    return h("li", {}, line, changeKeys({ place, visit, kind: "climate", one, what: line, draft, values }));
  }))];
}
