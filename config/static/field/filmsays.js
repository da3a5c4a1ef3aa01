// The rule's answer in words, spot by spot and area by area.

import { SPOTS_PER_AREA } from "./film.js";
import { shown } from "./units.js";
import { h } from "./dom.js";
import { t } from "./words.js";

export function verdictLines(work, rule) {
  const { film } = work;
  const how = t(work.drafted.some((one) => one.method) ? "film.measured" : "film.estimated");
  const spot = { ...work.spot, how };
  if (!film.isJudged) return [h("p", { class: "says says-unknown" }, t("film.coat-none")), ...spotLine(film, spot, false)];
  const says = h("p", { class: `says says-${film.verdict.toLowerCase()}` }, t(`film.${film.verdict}`), " · ",
    t("film.count", { done: film.completeAreas, all: rule.areas_required }));
  return [...spotLine(film, spot, true), ...areaLine(film, spot), says, ...failing(film)];
}

function spotLine(film, { area, spot, how }, isJudged) {
  const found = film.spots.find((one) => one.area === area && one.spot === spot);
  if (!found) return [];
  const mean = shown(found.mean);
  if (found.verdict === "UNKNOWN" || !isJudged) return [h("p", { class: "spot-says" }, t("film.spot-so-far", { mean, how }))];
  return [h("p", { class: `spot-says spot-${found.verdict.toLowerCase()}` }, t("film.spot-mean", { mean, how, low: limit(film.limits.spotLow), high: limit(film.limits.spotHigh) }))];
}

function areaLine(film, { area }) {
  const found = film.areas.find((one) => one.area === area && one.mean !== null);
  if (!found) return [];
  const { areaLow, areaHigh } = film.limits;
  const spots = Math.min(found.spots, SPOTS_PER_AREA);
  return [h("p", {}, t("film.area-mean", { area, mean: shown(found.mean), low: limit(areaLow), high: limit(areaHigh), spots }))];
}

function failing(film) {
  const spots = film.spots.filter((one) => one.verdict === "NOT_MET").map((one) => t("film.spot-name", one));
  return spots.length ? [h("p", {}, t("film.failing", { spots: spots.join(", ") }))] : [];
}

const limit = (value) => (Number.isFinite(value) ? shown(value) : "–");
