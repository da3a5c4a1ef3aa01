// What a stage still lacks before its hold point can be passed.

import { localDay } from "./clock.js";
import { judgeClimate, weatherLimits } from "./climate.js";
import { deckBand } from "./deck.js";
import { filmOf } from "./readings.js";
import { toC } from "./units.js";

/** Codes of what is lacking, most important first; empty when it can be passed. */
export function lacking(stage, { visit, state, system }) {
  const lacks = [];
  if (stage.checks.some((step) => !state.check.has(step))) lacks.push("answers");
  if (stage.checks.some((step) => state.check.get(step)?.answer === "NO")) lacks.push("a-no");
  for (const need of stage.needs) {
    const [name, rest] = split(need);
    if (!NEEDS[name]({ visit, state, system, rest, stage })) lacks.push(need);
  }
  return lacks;
}

/** How a stage stands: its hold passed, gone on without, everything answered, or open. */
export function stageState(stage, context) {
  const held = stage.hold && context.state.check.get(stage.hold)?.answer;
  if (held === "YES") return "PASSED";
  if (held === "NO") return "WITHOUT";
  if (stage.hold) return "OPEN";
  return lacking(stage, context).some((code) => code !== "a-no") ? "OPEN" : "DONE";
}

/** The hold point of an earlier stage that keeps this one waiting, or null. */
export function waitsFor(stages, stage, context) {
  const before = stages.slice(0, stages.indexOf(stage));
  return before.find((one) => one.hold && stageState(one, context) === "OPEN") ?? null;
}

function split(need) {
  const found = /^(log|film)-(\w+)$/.exec(need);
  return found ? [found[1], found[2]] : [need, ""];
}

const NEEDS = {
  climate: ({ state, system }) => {
    const today = state.climate.filter((one) => one.taken_at.slice(0, 10) === localDay());
    const last = today.at(-1);
    return Boolean(last) && judgedClimate(last, system).verdict === "MET";
  },
  photo: ({ state }) => state.photo.length > 0,
  "photo-before-each": ({ state }) => everyPenetration(state, (one) => hasPhoto(state, one, true)),
  "photo-after-each": ({ state }) => everyPenetration(state, (one) => hasPhoto(state, one, false)),
  detailed: ({ state }) => everyPenetration(state, (one) => one.is_detailed),
  "seals-walked": ({ state }) => everyPenetration(state, (one) => state.check.has(sealStep(one))),
  "deck-dry": ({ state }) => {
    const bands = latestDeck(state).map((one) => (one.is_above_range ? "WET" : deckBand(Number(one.moisture_pct))));
    return bands.length > 0 && bands.every((band) => band === "DRY");
  },
  log: ({ state, system, rest }) =>
    !hasCoat(system, rest) || state.coat_log.some((one) => one.coat === rest && one.lot),
  film: ({ visit, state, system, rest }) => {
    const judged = filmOf({ visit, state, system, role: rest });
    return !judged?.isJudged || judged.verdict === "MET";
  },
  cures: ({ state }) => state.cure.length > 0,
};

export const sealStep = (penetration) => `seal.${penetration.uuid}`;

const hasCoat = (system, role) => Boolean(system?.coats.some((coat) => coat.role === role));

function everyPenetration(state, isSo) {
  return state.penetrations.length > 0 && state.penetrations.every(isSo);
}

function hasPhoto(state, penetration, isBefore) {
  return state.photo.some((one) => one.penetration_label === penetration.label && one.is_before === isBefore);
}

/** The last reading at each place: a board that was dried is read again. */
function latestDeck(state) {
  const places = new Map();
  for (const one of state.moisture) {
    const key = one.x_m === null ? one.uuid : `${Math.round(one.x_m * 4)}/${Math.round(one.y_m * 4)}`;
    places.set(key, one);
  }
  return [...places.values()];
}

export function judgedClimate(one, system) {
  const coat = system?.coats.find((each) => each.role === one.coat) ?? null;
  const number = (value) => (value === null ? null : Number(value));
  const celsius = (value) => (value === null ? null : toC(Number(value), one.temperature_unit));
  const values = { airC: celsius(one.air), surfaceC: celsius(one.surface), rhPct: number(one.rh_pct) };
  return { ...values, ...judgeClimate(values, weatherLimits(coat, system)) };
}
