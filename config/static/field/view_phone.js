// This phone: what is unsent, who holds it, language, units, and the last resort.

import { button, choice, goTo, h } from "./dom.js";
import { download } from "./export.js";
import { listen, redraw } from "./news.js";
import { APP_VERSION, queued, stillHere } from "./outbox.js";
import { account } from "./pairing.js";
import { prefs, setPrefs } from "./prefs.js";
import { told } from "./strip.js";
import { all } from "./store.js";
import { sending, sync } from "./sync.js";
import { shownBytes } from "./units.js";
import { t } from "./words.js";

export async function viewPhone() {
  const [who, here, ops, photos, strip] = await Promise.all([account(), stillHere(), queued(), all("photos"), told()]);
  const held = [...ops, ...photos.filter((one) => !one.sent)].filter((one) => who && one.owner !== who.technician.uuid).length;
  const stop = [listen("outbox", redraw), listen("sync", redraw)];
  return {
    title: t("phone"), back: "/",
    nodes: [
      h("p", { class: "line" }, strip.text),
      unsent(ops),
      held > 0 && h("p", { class: "note" }, t("phone.held", { n: held }), " ", t("pair.others")),
      h("div", { class: "tools" }, button(t("phone.send"), () => sync({ anew: true })),
        here.records + here.photos > 0 && button(t("phone.export"), download, { class: "quiet" })),
      here.records + here.photos > 0 && h("p", { class: "hint" }, t("phone.export-why")),
      who && h("p", { class: "line" }, t("phone.who", { name: who.technician.name })),
      (!who || sending.phase === "revoked") && goTo("/pair", t("pair.title"), { class: "main-key" }),
      settings(),
      h("p", { class: "hint" }, t("pair.install")),
      h("p", { class: "hint" }, await storage(), " ", t("phone.version", { version: APP_VERSION })),
    ],
    stop: () => stop.forEach((end) => end()),
  };
}

function unsent(ops) {
  if (!ops.length) return null;
  const kinds = [...new Set(ops.map((op) => op.kind))];
  return [h("h2", {}, t("phone.last")), h("ul", { class: "plain" }, kinds.map((kind) => h("li", {}, `${t(`op.${kind}`)}: ${ops.filter((op) => op.kind === kind).length}`)))];
}

function settings() {
  const change = (changes) => async () => {
    await setPrefs(changes);
    redraw();
  };
  return h("form", {},
    choice("language", t("phone.language"), [["en", "English"], ["es", "Español"]], prefs.language, (language) => change({ language })()),
    choice("units", t("phone.units"), [["us", t("phone.us")], ["metric", t("phone.metric")]], prefs.units, (units) => change({ units })()));
}

async function storage() {
  const found = await navigator.storage?.estimate?.().catch(() => null);
  return found?.quota ? t("phone.storage", { used: shownBytes(found.usage), quota: shownBytes(found.quota) }) : "";
}
