// Elements without a framework: h("p", {class: "hint"}, "text").

const SVG = "http://www.w3.org/2000/svg";

export const h = (tag, props = {}, ...children) => build(document.createElement(tag), props, children);
export const svg = (tag, props = {}, ...children) => build(document.createElementNS(SVG, tag), props, children);

function build(element, props, children) {
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value") element.value = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

export const button = (text, onclick, props = {}) =>
  h("button", { type: "button", onclick: guarded(onclick), ...props }, text);

/** A link that looks and measures like a key. */
export const goTo = (path, text, props = {}) => h("a", { href: `#${path}`, class: "key", ...props }, text);

/** A second tap of a wet glove while the first still works must do nothing. */
function guarded(act) {
  let busy = false;
  return async (event) => {
    if (busy) return;
    busy = true;
    try {
      await act(event);
    } finally {
      busy = false;
    }
  };
}

let lastId = 0;

/** A labelled control: the label, the control, and what helps to fill it. */
export function field(label, control, hint = "") {
  lastId += 1;
  control.id = `f${lastId}`;
  const help = hint ? h("p", { class: "hint", id: `f${lastId}-hint` }, hint) : null;
  if (help) control.setAttribute("aria-describedby", help.id);
  return h("div", { class: "field" }, h("label", { for: control.id }, label), control, help);
}

export const numberInput = (name, value = "", props = {}) =>
  h("input", { name, value, type: "text", inputmode: "decimal", autocomplete: "off", ...props });

/** One of a few: large keys side by side, a radio group underneath. */
export function choice(name, legend, options, chosen, onchange = null) {
  const keys = options.map(([value, text]) =>
    h("label", { class: "pick" },
      h("input", { type: "radio", name, value, checked: value === chosen, onchange: onchange && (() => onchange(value)) }),
      h("span", {}, text)));
  return h("fieldset", { class: "choice" }, h("legend", {}, legend), h("div", { class: "picks" }, keys));
}
