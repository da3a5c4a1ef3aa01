// Pairing by a one-time code, while there is a signal.

import { NoAnswer, Refused } from "./api.js";
import { button, field, h } from "./dom.js";
import { keepDraft, dropDraft } from "./drafts.js";
import { redraw } from "./news.js";
import { account, pair } from "./pairing.js";
import { prefs, setPrefs } from "./prefs.js";
import { sync } from "./sync.js";
import { t } from "./words.js";

export async function viewPair() {
  const who = await account();
  const code = h("input", { name: "code", autocomplete: "off", autocapitalize: "characters", spellcheck: "false", class: "code", maxlength: 12 });
  const name = h("input", { name: "device_name", autocomplete: "off", maxlength: 60 });
  const told = h("div", { "aria-live": "assertive" });
  const form = h("form", { novalidate: true },
    who ? h("p", { class: "fault" }, t("pair.again")) : null,
    h("p", {}, t("pair.why")),
    field(t("pair.code"), code),
    field(t("pair.name"), name, t("pair.name-hint")),
    told,
    h("button", { type: "submit", class: "main-key" }, t("pair.do")));
  await keepDraft(form, "pair");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      await pair(code.value, name.value.trim() || navigator.platform || "phone");
      await dropDraft("pair");
      location.hash = "#/";
      await sync({ anew: true });
    } catch (error) {
      told.replaceChildren(h("p", { class: "fault" }, why(error)));
    }
  });
  const other = prefs.language === "en" ? ["es", "Español"] : ["en", "English"];
  const speak = button(other[1], async () => {
    await setPrefs({ language: other[0] });
    redraw();
  }, { class: "quiet", lang: other[0] });
  return { title: t("pair.title"), back: who ? "/phone" : null, nodes: [form, speak] };
}

function why(error) {
  if (error instanceof NoAnswer) return t("pair.no-answer");
  if (!(error instanceof Refused)) throw error;
  if (error.code === "code-unknown") return t("pair.code-unknown");
  if (error.status === 429) return t("pair.too-many");
  return t("pair.refused", { why: error.problem.detail ?? error.code });
}
