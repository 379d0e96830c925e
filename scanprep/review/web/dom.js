// Elements made from plain values: text is always set as text, so nothing that a person or a file says becomes markup.

import { visible } from "./visible.js";

const SVG = "http://www.w3.org/2000/svg";
const READ = new Set(["title", "alt", "placeholder", "aria-label"]); // attributes that people read

function filled(element, given, children) {
  for (const [name, value] of Object.entries(given || {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value" || name === "checked" || name === "disabled" || name === "selected") element[name] = value;
    else element.setAttribute(name, value === true ? "" : READ.has(name) ? visible(String(value)) : String(value));
  }
  for (const child of children.flat(4)) {
    if (child === null || child === undefined || child === false) continue;
    element.append(child instanceof Node ? child : document.createTextNode(visible(String(child))));
  }
  return element;
}

export const h = (tag, given, ...children) => filled(document.createElement(tag), given, children);
export const s = (tag, given, ...children) => filled(document.createElementNS(SVG, tag), given, children);

let drawing = false;

// Put new children into a place, and the keyboard back to where it was: the element with the same data-at.
export function show(place, ...children) {
  const held = document.activeElement;
  const at = held && place.contains(held) ? held.dataset.at : undefined;
  const caret = at !== undefined && "selectionStart" in held ? [held.selectionStart, held.selectionEnd, held.value] : null;
  drawing = true;
  place.replaceChildren(...children.flat(4).filter((child) => child));
  drawing = false;
  if (at === undefined) return;
  const again = place.querySelector(`[data-at="${CSS.escape(at)}"]`);
  if (!again) return;
  again.focus({ preventScroll: true });
  if (caret && (again.type === "text" || again.type === "textarea")) {
    if (again.value !== caret[2]) goOnWriting(again, caret[2]);
    again.setSelectionRange(caret[0], caret[1]);
  }
}

// A field that was drawn anew under somebody's hands. A browser counts a text that it was given as never changed, and
// would not report it when the hands leave or press Enter.
function goOnWriting(field, text) {
  field.value = text;
  let reported = false;
  const report = () => { if (!drawing && !reported) field.dispatchEvent(new Event("change", { bubbles: true })); };
  field.addEventListener("change", () => { reported = true; });
  field.addEventListener("blur", report);
  field.addEventListener("keydown", (event) => { if (event.key === "Enter" && field.type === "text") report(); });
}

export const button = (words, act, given = {}) =>
  h("button", { type: "button", onclick: act, "data-at": given["data-at"] || words, ...given }, words);

const opened = new Set();

// Something that is unfolded, and stays so while the page is drawn anew.
export const fold = (name, words, ...children) =>
  h("details", { open: opened.has(name), ontoggle: (event) => { if (event.target.open) opened.add(name); else opened.delete(name); } }, h("summary", { "data-at": name }, words), ...children);
