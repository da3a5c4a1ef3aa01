// Language and units: kept on this phone, chosen by the person who holds it.

import { get, put } from "./store.js";

const isSpanish = (navigator.language ?? "").toLowerCase().startsWith("es");

export const prefs = { language: isSpanish ? "es" : "en", units: "us" };

export async function loadPrefs() {
  Object.assign(prefs, (await get("meta", "prefs")) ?? {});
  document.documentElement.lang = prefs.language;
}

export async function setPrefs(changes) {
  Object.assign(prefs, changes);
  document.documentElement.lang = prefs.language;
  await put("meta", { ...prefs }, "prefs");
}

export const isUs = () => prefs.units === "us";
export const filmUnit = () => (isUs() ? "mil" : "um");
export const degrees = () => (isUs() ? "F" : "C");
