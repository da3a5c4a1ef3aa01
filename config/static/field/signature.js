// A signature drawn with a finger; or, for whoever cannot draw, the name written out.

import { button, h } from "./dom.js";
import { t } from "./words.js";

const WIDTH = 640;
const HEIGHT = 240;

export function signaturePad() {
  const canvas = h("canvas", { width: WIDTH, height: HEIGHT, class: "sign", role: "img", "aria-label": t("sign.draw") });
  const pen = canvas.getContext("2d");
  let isBlank = true;
  let last = null;

  function clear() {
    // Opaque: a PNG without a ground is unreadable on dark paper.
    pen.fillStyle = "#ffffff";
    pen.fillRect(0, 0, WIDTH, HEIGHT);
    Object.assign(pen, { strokeStyle: "#000000", fillStyle: "#000000", lineWidth: 5, lineCap: "round" });
    isBlank = true;
  }

  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    return [((event.clientX - box.left) * WIDTH) / box.width, ((event.clientY - box.top) * HEIGHT) / box.height];
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    last = at(event);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!last) return;
    const next = at(event);
    pen.beginPath();
    pen.moveTo(...last);
    pen.lineTo(...next);
    pen.stroke();
    last = next;
    isBlank = false;
  });
  for (const over of ["pointerup", "pointercancel"]) canvas.addEventListener(over, () => (last = null));

  function write(name) {
    if (!name) return;
    clear();
    pen.font = "italic 64px serif";
    pen.fillText(name, 24, 140, WIDTH - 48);
    isBlank = false;
  }

  clear();
  return {
    element: (nameNow) => h("div", { class: "sign-area" }, h("p", { class: "hint" }, t("sign.draw")), canvas,
      h("div", { class: "two" }, button(t("sign.clear"), clear, { class: "quiet" }), button(t("sign.type"), () => write(nameNow()), { class: "quiet" }))),
    isBlank: () => isBlank,
    png: () => new Promise((resolve) => canvas.toBlob((blob) => resolve(blob.arrayBuffer()), "image/png")),
  };
}
