// Deck moisture at a place, with the band said while it is typed.

import { localDay } from "./clock.js";
import { contextOf, gone, sizeOf } from "./context.js";
import { deckBand } from "./deck.js";
import { choice, field, h, numberInput } from "./dom.js";
import { keepDraft, valuesOf } from "./drafts.js";
import { uuid7 } from "./ids.js";
import { redraw } from "./news.js";
import { walkingOrder } from "./plan.js";
import { placePicker, placeWords } from "./planview.js";
import { degrees } from "./prefs.js";
import { save, saveArea } from "./saving.js";
import { cFromF, typedNumber } from "./units.js";
import { t } from "./words.js";

export async function viewDeck(uuid) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const { visit, state } = context;
  const place = saveArea();
  const says = h("p", { class: "says", "aria-live": "polite" });
  const picker = placePicker({ size: sizeOf(visit), penetrations: walkingOrder(state.penetrations), marks: marksOf(state) });
  const form = h("form", { novalidate: true },
    picker.element,
    field(t("deck.pct"), numberInput("pct")),
    h("label", { class: "tick" }, h("input", { type: "checkbox", name: "above" }), h("span", {}, t("deck.above"))),
    says,
    choice("mode", t("deck.mode"), [["PIN", t("deck.PIN")], ["SURFACE", t("deck.SURFACE")]], "PIN"),
    field(t("deck.temp", { unit: `°${degrees()}` }), numberInput("wood"), t("optional")),
    field(t("deck.species"), h("input", { name: "species", autocomplete: "off", maxlength: 40 }), t("optional")),
    place,
    h("button", { type: "submit", class: "main-key" }, t("keep")));
  await keepDraft(form, `deck/${uuid}`);
  picker.restore();
  const tellBand = () => {
    const { pct, above } = valuesOf(form);
    const band = above ? "WET" : deckBand(Number(typedNumber(pct) ?? NaN));
    says.textContent = band ? t(`deck.${band}`) : "";
    says.className = `says says-${band === "DRY" ? "met" : band ? "not_met" : "unknown"}`;
  };
  form.addEventListener("input", tellBand);
  tellBand();
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const body = bodyOf(valuesOf(form), picker.place);
    if (!body) place.replaceChildren(h("p", { class: "fault" }, t("number-wrong")));
    else if (await save(place, visit, "moisture", body, { drafts: [`deck/${uuid}`] })) redraw();
  });
  return { title: t("tool.deck"), over: context.over, back: `/visit/${uuid}`, nodes: [form, soFar(state)] };
}

function bodyOf({ pct, above, mode, wood, species }, at) {
  const [read, warm] = [typedNumber(pct), typedNumber(wood)];
  if (read === null || Number(read) < 0 || Number(read) > 100 || (wood.trim() && warm === null)) return null;
  const woodC = warm === null ? null : (degrees() === "F" ? cFromF(Number(warm)) : Number(warm)).toFixed(2);
  return { uuid: uuid7(), moisture_pct: read, is_above_range: above, mode, species: species.trim(), wood_c: woodC, x_m: at?.x ?? null, y_m: at?.y ?? null, happened_on: localDay() };
}

const bandOf = (one) => (one.is_above_range ? "WET" : deckBand(Number(one.moisture_pct)));

const marksOf = (state) =>
  state.moisture.filter((one) => one.x_m !== null).map((one) => ({ x: one.x_m, y: one.y_m, shape: bandOf(one) === "DRY" ? "met" : "not_met", text: `${one.moisture_pct} %` }));

function soFar(state) {
  if (!state.moisture.length) return null;
  const line = (one) => `${one.is_above_range ? ">" : ""}${one.moisture_pct} % · ${t(`deck.${bandOf(one)}`)} · ${placeWords(one.x_m === null ? null : { x: one.x_m, y: one.y_m })}`;
  return [h("h2", {}, t("deck.so-far")), h("ul", { class: "plain" }, [...state.moisture].reverse().map((one) => h("li", {}, line(one))))];
}
