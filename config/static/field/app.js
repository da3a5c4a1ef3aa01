// Starts the page: preferences, the strip above, the view that the address names.

import { h } from "./dom.js";
import { catchUp } from "./drafts.js";
import { listen } from "./news.js";
import { loadPrefs } from "./prefs.js";
import { account } from "./pairing.js";
import { drawStrip } from "./strip.js";
import { startSync } from "./sync.js";
import { keepShell } from "./update.js";
import { t } from "./words.js";
import { viewBegin } from "./view_begin.js";
import { viewClimate } from "./view_climate.js";
import { viewCoats } from "./view_coats.js";
import { viewCures } from "./view_cures.js";
import { viewDeck } from "./view_deck.js";
import { viewEnd } from "./view_end.js";
import { viewFilm } from "./view_film.js";
import { viewFinding } from "./view_finding.js";
import { viewPair } from "./view_pair.js";
import { viewPatch } from "./view_patch.js";
import { viewPhone } from "./view_phone.js";
import { viewPhotos } from "./view_photos.js";
import { viewRecoat } from "./view_recoat.js";
import { viewRoof } from "./view_roof.js";
import { viewSeals } from "./view_seals.js";
import { viewStage } from "./view_stage.js";
import { viewUnbooked } from "./view_unbooked.js";
import { viewVisit } from "./view_visit.js";
import { viewWork } from "./view_work.js";

const ROUTES = [
  [/^\/$/, viewWork],
  [/^\/pair$/, viewPair],
  [/^\/phone$/, viewPhone],
  [/^\/unbooked$/, viewUnbooked],
  [/^\/roof\/([\w-]+)$/, viewRoof],
  [/^\/begin\/([\w-]+)\/([A-Z_]+)$/, viewBegin],
  [/^\/visit\/([\w-]+)$/, viewVisit],
  [/^\/visit\/([\w-]+)\/stage\/([\w-]+)$/, viewStage],
  [/^\/visit\/([\w-]+)\/climate$/, viewClimate],
  [/^\/visit\/([\w-]+)\/coats$/, viewCoats],
  [/^\/visit\/([\w-]+)\/film(?:\/(\w+))?$/, viewFilm],
  [/^\/visit\/([\w-]+)\/finding$/, viewFinding],
  [/^\/visit\/([\w-]+)\/seals$/, viewSeals],
  [/^\/visit\/([\w-]+)\/photos(?:\/([\w-]+))?$/, viewPhotos],
  [/^\/visit\/([\w-]+)\/deck$/, viewDeck],
  [/^\/visit\/([\w-]+)\/patch$/, viewPatch],
  [/^\/visit\/([\w-]+)\/cures$/, viewCures],
  [/^\/visit\/([\w-]+)\/recoat$/, viewRecoat],
  [/^\/visit\/([\w-]+)\/end$/, viewEnd],
];
const NEEDS_NOBODY = ["/pair", "/phone"];

let shown = null;
let drawing = Promise.resolve();
let waiting = 0;

/** One view after the other: a slow one never ends up above a newer one. */
function show({ isNew = true } = {}) {
  // Whatever waits reads what is kept when its turn comes.
  if (!isNew && waiting > 0) return;
  waiting += 1;
  drawing = drawing.catch(() => {}).then(() => {
    waiting -= 1;
    return draw(isNew);
  });
}

async function draw(isNew) {
  const path = location.hash.slice(1) || "/";
  const found = ROUTES.map(([pattern, view]) => [pattern.exec(path), view]).find(([match]) => match);
  const [match, view] = found ?? [[], viewWork];
  const isKnown = NEEDS_NOBODY.includes(path) || (await account());
  shown?.stop?.();
  if (isNew) await shown?.leave?.();
  const page = await (isKnown ? view : viewPair)(...match.slice(1));
  // From here to the end nothing is awaited: no key falls between two views.
  const old = document.activeElement;
  const before = isNew ? null : nameOf(old);
  const caret = old?.selectionStart ?? null;
  const top = scrollY;
  shown = page;
  const main = document.querySelector("main");
  main.replaceChildren(...frame(page));
  document.title = `${page.title} · ${t("app")}`;
  scrollTo(0, isNew ? 0 : top);
  if (!isNew) catchUp(main);
  const kept = before && focusables().find((element) => nameOf(element) === before);
  (kept ?? document.querySelector("h1")).focus({ preventScroll: true });
  if (kept && caret !== null && kept.value === old.value) kept.setSelectionRange?.(caret, caret);
}

const focusables = () => [...document.querySelectorAll("main :is(a, button, input, textarea, summary)")];

/** What a control is to a person: the same one is found again in a view drawn anew. */
const nameOf = (element) => [element.tagName, element.name, element.getAttribute("href"), element.closest("[aria-labelledby], [aria-label]")?.getAttribute("aria-labelledby"), element.textContent.replace("✓", "").trim()].join("|");

function frame({ title, back, nodes, bar, over, isTight = false }) {
  const up = back && h("a", { href: `#${back}`, class: "up" }, h("span", { "aria-hidden": "true" }, "‹ "), t("back"));
  return [
    h("div", { class: "top" }, up, over && h("p", { class: "over" }, over)),
    h("h1", { tabindex: "-1", class: isTight ? "unseen" : null }, title),
    ...nodes.flat(3).filter(Boolean),
    bar && h("div", { class: "bar" }, bar),
  ].filter(Boolean);
}

async function start() {
  await loadPrefs();
  drawStrip(document.querySelector("#strip"));
  addEventListener("hashchange", () => show());
  listen("redraw", () => show({ isNew: false }));
  listen("anew", () => show());
  listen("account", () => show());
  show();
  await drawing;
  await keepShell();
  await startSync();
}

start();
