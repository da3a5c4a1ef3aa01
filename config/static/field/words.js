// Every word that is shown, in the language of this phone.

import { EN } from "./words_en.js";
import { ES } from "./words_es.js";
import { STEPS_EN } from "./steps_en.js";
import { STEPS_ES } from "./steps_es.js";
import { prefs } from "./prefs.js";

export const TABLES = { en: { ...EN, ...STEPS_EN }, es: { ...ES, ...STEPS_ES } };

/** The words under a key, with {names} filled in; the key itself when there are none. */
export function t(key, values = {}) {
  const words = TABLES[prefs.language][key] ?? TABLES.en[key] ?? key;
  return words.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
}

/** "one record" or "3 records": the key ends in .one or .many. */
export const count = (key, number) => t(`${key}.${number === 1 ? "one" : "many"}`, { n: number });
