// When the next coat may go on, from what was logged here and the last surface reading.

import { weatherLimits } from "./climate.js";
import { hoursBetween } from "./clock.js";
import { contextOf, gone } from "./context.js";
import { h } from "./dom.js";
import { judgedClimate } from "./holds.js";
import { degrees } from "./prefs.js";
import { recoatWindow } from "./recoat.js";
import { shown } from "./units.js";
import { temperature } from "./view_climate.js";
import { t } from "./words.js";

export async function viewRecoat(uuid) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const coats = context.system?.coats ?? [];
  return {
    title: t("tool.recoat"), over: context.over, back: `/visit/${uuid}`,
    nodes: coats.slice(0, -1).map((coat) => h("section", { class: "hold" }, h("h2", {}, t(`coat.${coat.role}`)), lines(coat, context).map((line) => h("p", {}, line)))),
  };
}

export function lines(coat, { state, system }, now = new Date()) {
  if (coat.recoat_min_hours === null) return [t("recoat.none")];
  const logged = [...state.film, ...state.coat_log].filter((one) => one.coat === coat.role).map((one) => one.made_at).sort();
  if (!logged.length) return [t("recoat.no-coat", { coat: t(`coat.${coat.role}`) })];
  const weather = state.climate.at(-1);
  if (!weather) return [t("recoat.no-temp")];
  const { surfaceC: tempC } = judgedClimate(weather, system);
  const minimumC = weatherLimits(coat, system).airMinC ?? -60;
  const elapsed = hoursBetween(logged.at(-1), now);
  const window = recoatWindow(elapsed, { tempC, minHours: Number(coat.recoat_min_hours), maxHours: coat.recoat_max_hours === null ? null : Number(coat.recoat_max_hours), minimumC });
  const temp = temperature(tempC, degrees());
  return [t("recoat.elapsed", { hours: shown(elapsed), coat: t(`coat.${coat.role}`) }), verdict(window, elapsed, minimumC), t("recoat.estimate", { temp })];
}

function verdict({ state, earliest, latest }, elapsed, minimumC) {
  if (state === "TOO_EARLY") return t("recoat.TOO_EARLY", { hours: shown(earliest - elapsed) });
  if (state === "NO_CURE") return t("recoat.NO_CURE", { limit: temperature(minimumC, degrees()) });
  if (state === "IN_WINDOW" && latest !== null) return t("recoat.IN_WINDOW-until", { hours: shown(latest - elapsed) });
  return t(`recoat.${state}`);
}
