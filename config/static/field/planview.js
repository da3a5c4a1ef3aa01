// The roof plan as a drawing that a finger can point at.

import { button, h, numberInput, svg } from "./dom.js";
import { clampPlace } from "./plan.js";
import { isUs } from "./prefs.js";
import { fromM, shown, toM, typedNumber } from "./units.js";
import { t } from "./words.js";

const PX = 100; // drawing units per metre

/** Draw a plan; `marks` are {x, y, shape, text}. With `onplace` it can be tapped. */
export function planView({ lengthM, widthM, penetrations, marks = [], chosen = null, onplace = null }) {
  const drawing = svg("svg", {
    class: "plan", viewBox: `-8 -8 ${lengthM * PX + 16} ${widthM * PX + 16}`, role: "img",
    "aria-label": t(onplace ? "plan.label" : "plan.look"),
  });
  drawing.append(
    svg("rect", { class: "plan-edge", width: lengthM * PX, height: widthM * PX, rx: 14 }),
    svg("path", { class: "plan-cap", d: `M26 12V${widthM * PX - 12}` }),
    ...penetrations.map(penetration),
    ...marks.map(mark),
  );
  if (chosen) drawing.append(mark({ ...chosen, shape: "chosen" }));
  if (onplace) drawing.addEventListener("click", (event) => onplace(placeOf(event, drawing, { lengthM, widthM })));
  return drawing;
}

function placeOf(event, drawing, size) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
  return clampPlace({ x: point.x / PX, y: point.y / PX }, size);
}

function penetration(one, index) {
  const [x, y] = [Number(one.x_m) * PX, Number(one.y_m) * PX];
  const [w, l] = [Math.max(Number(one.width_m) * PX, 14), Math.max(Number(one.length_m) * PX, 14)];
  return svg("g", { class: "pen" },
    svg("title", {}, one.label),
    svg("rect", { x: x - l / 2, y: y - w / 2, width: l, height: w }),
    svg("text", { x, y: y + 9 }, String(index + 1)));
}

const SHAPES = {
  met: () => [svg("circle", { r: 15 }), svg("path", { d: "M-7 0l5 6 9-12" })],
  not_met: () => [svg("rect", { x: -15, y: -15, width: 30, height: 30 }), svg("path", { d: "M-7-7l14 14M7-7l-14 14" })],
  unknown: () => [svg("circle", { r: 13 }), svg("circle", { r: 3 })],
  planned: () => [svg("circle", { r: 9 })],
  finding: () => [svg("path", { d: "M0-18l17 30h-34z" })],
  chosen: () => [svg("circle", { r: 24 }), svg("path", { d: "M-36 0h72M0-36v72" })],
};

function mark({ x, y, shape, text = "" }) {
  return svg("g", { class: `mark mark-${shape}`, transform: `translate(${x * PX} ${y * PX})` }, text && svg("title", {}, text), SHAPES[shape]());
}

export const placeWords = (place) =>
  place === null ? t("plan.none") : t("plan.at", { x: length(place.x), y: length(place.y) });

export const length = (metres) => `${shown(fromM(metres, isUs()), isUs() ? 1 : 2)} ${isUs() ? "ft" : "m"}`;

/** A plan with two numbers beside it: whoever cannot tap a place types it. */
export function placePicker({ size, penetrations, marks = [], place = null, onchange = () => {} }) {
  const holder = h("div", { class: "place" });
  let chosen = place;
  const [x, y] = ["x", "y"].map((name) => numberInput(`place_${name}`, "", { "aria-label": t(`plan.${name}`, { unit: isUs() ? "ft" : "m" }), placeholder: t(`plan.${name}`, { unit: isUs() ? "ft" : "m" }) }));
  const choose = (next) => {
    chosen = next;
    x.value = next ? shown(fromM(next.x, isUs()), 2) : "";
    y.value = next ? shown(fromM(next.y, isUs()), 2) : "";
    draw();
    onchange(next);
  };
  const typed = () => {
    const [along, across] = [x, y].map((input) => typedNumber(input.value));
    if (along === null || across === null) return;
    chosen = clampPlace({ x: toM(Number(along), isUs()), y: toM(Number(across), isUs()) }, size);
    draw();
    onchange(chosen);
  };
  x.addEventListener("input", typed);
  y.addEventListener("input", typed);
  const drawn = h("div", {});
  const words = h("p", { class: "hint" });
  function draw() {
    drawn.replaceChildren(planView({ ...size, penetrations, marks, chosen, onplace: choose }));
    words.textContent = placeWords(chosen);
  }
  choose(place);
  holder.append(drawn, words, h("div", { class: "two" }, x, y), button(t("plan.clear"), () => choose(null), { class: "quiet" }));
  return { element: holder, get place() { return chosen; }, choose };
}
