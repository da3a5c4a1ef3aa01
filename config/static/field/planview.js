// The roof plan as a drawing that a finger can point at.

import { button, field, h, numberInput, svg } from "./dom.js";
import { clampPlace } from "./plan.js";
import { isUs } from "./prefs.js";
import { fromM, shown, toM, typedNumber } from "./units.js";
import { t } from "./words.js";

const PX = 100; // drawing units per metre
const SHOWN_PX = 350; // how wide a phone draws it: marks keep their size on any roof

/** Draw a plan; `marks` are {x, y, shape, text}. With `onplace` it can be tapped. */
export function planView({ lengthM, widthM, penetrations, marks = [], chosen = null, onplace = null }) {
  const scale = (lengthM * PX) / SHOWN_PX;
  const drawing = svg("svg", {
    class: "plan", viewBox: `-8 -8 ${lengthM * PX + 16} ${widthM * PX + 16}`, role: "img",
    "aria-label": t(onplace ? "plan.label" : "plan.look"),
  });
  drawing.append(
    svg("rect", { class: "plan-edge", width: lengthM * PX, height: widthM * PX, rx: 14 }),
    svg("path", { class: "plan-cap", d: `M26 12V${widthM * PX - 12}` }),
    ...penetrations.map((one, index) => penetration(one, index, scale)),
    ...marks.map((one) => mark(one, scale)),
  );
  if (chosen) drawing.append(mark({ ...chosen, shape: "chosen" }, scale));
  if (onplace) drawing.addEventListener("click", (event) => onplace(placeOf(event, drawing, { lengthM, widthM })));
  return drawing;
}

function placeOf(event, drawing, size) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
  return clampPlace({ x: point.x / PX, y: point.y / PX }, size);
}

function penetration(one, index, scale) {
  const [x, y] = [Number(one.x_m) * PX, Number(one.y_m) * PX];
  const least = 12 * scale;
  const [w, l] = [Math.max(Number(one.width_m) * PX, least), Math.max(Number(one.length_m) * PX, least)];
  return svg("g", { class: "pen" },
    svg("title", {}, one.label),
    svg("rect", { x: x - l / 2, y: y - w / 2, width: l, height: w }),
    svg("text", { transform: `translate(${x} ${y + 4.5 * scale}) scale(${scale})` }, String(index + 1)));
}

const SHAPES = {
  met: () => [svg("circle", { r: 7 }), svg("path", { d: "M-3.500 0l2.500 3 4.500-6" })],
  not_met: () => [svg("rect", { x: -7, y: -7, width: 14, height: 14 }), svg("path", { d: "M-3.500-3.500l7 7M3.500-3.500l-7 7" })],
  unknown: () => [svg("circle", { r: 6 }), svg("circle", { r: 1.5 })],
  planned: () => [svg("circle", { r: 4.5 })],
  finding: () => [svg("path", { d: "M0-8l8 14h-16z" })],
  chosen: () => [svg("circle", { r: 11 }), svg("path", { d: "M-16 0h32M0-16v32" })],
};

function mark({ x, y, shape, text = "" }, scale) {
  return svg("g", { class: `mark mark-${shape}`, transform: `translate(${x * PX} ${y * PX}) scale(${scale})` }, text && svg("title", {}, text), SHAPES[shape]());
}

export const placeShort = (place) => `${length(place.x)}, ${length(place.y)}`;

export const placeWords = (place) =>
  place === null ? t("plan.none") : t("plan.at", { x: length(place.x), y: length(place.y) });

export const length = (metres) => `${shown(fromM(metres, isUs()), isUs() ? 1 : 2)} ${isUs() ? "ft" : "m"}`;

/** A plan with two numbers beside it: whoever cannot tap a place types it. */
export function placePicker({ size, penetrations, marks = [] }) {
  const holder = h("div", { class: "place" });
  let chosen = null;
  const [x, y] = ["x", "y"].map((name) => numberInput(`place_${name}`));
  let isFilling = false;
  const choose = (next) => {
    chosen = next;
    x.value = next ? shown(fromM(next.x, isUs()), 2) : "";
    y.value = next ? shown(fromM(next.y, isUs()), 2) : "";
    // The form's draft hears of it as of typing.
    isFilling = true;
    x.dispatchEvent(new Event("input", { bubbles: true }));
    isFilling = false;
    draw();
  };
  const typed = () => {
    if (isFilling) return;
    const [along, across] = [x, y].map((input) => typedNumber(input.value));
    if (along === null || across === null) return;
    chosen = clampPlace({ x: toM(Number(along), isUs()), y: toM(Number(across), isUs()) }, size);
    draw();
  };
  x.addEventListener("input", typed);
  y.addEventListener("input", typed);
  const drawn = h("div", {});
  const words = h("p", { class: "hint" });
  function draw() {
    drawn.replaceChildren(planView({ ...size, penetrations, marks, chosen, onplace: choose }));
    words.textContent = placeWords(chosen);
  }
  draw();
  const unit = isUs() ? "ft" : "m";
  holder.append(drawn, words, h("div", { class: "three" }, field(t("plan.x", { unit }), x), field(t("plan.y", { unit }), y),
    button(t("plan.clear"), () => choose(null), { class: "quiet" })));
  return { element: holder, get place() { return chosen; }, restore: typed };
}
