// The case next to how it stood before a session, or to a kept try: what moved, by how much, both as pictures.

import { button, h } from "./dom.js";
import { facePicture, frameOf, onFace, onRecord } from "./faces.js";
import { say } from "./moves.js";
import { source } from "./source.js";
import { changed, may, set, state } from "./store.js";
import { sent, textOf, unsent } from "./unsent.js";

async function compare(key, how) {
  if (state.compare?.key === key) { set({ compare: null }); return; }
  try { set({ compare: { key, ...await source.compare(how) } }); } catch (problem) { say(problem.message); }
}

async function keep() {
  const name = textOf("try name").trim(), moves = Object.values(state.draft);
  if (!name) { say("Give the try a name first"); document.querySelector('[data-at="try name"]')?.focus(); return; }
  try { await source.keepTry(name, moves); sent("try name"); changed(); } catch (problem) { say(problem.message); }
}

export function drawCompare() {
  if (state.link === "file") return null;
  const { scene } = state, earlier = scene.session.earlier, moves = Object.keys(state.draft).length;
  const pick = (key, words, how) => button(words, () => compare(key, how), { class: "chip", "data-at": `compare ${key}`, "aria-pressed": String(state.compare?.key === key) });
  return h("section", {}, h("h3", {}, "Compare"),
    earlier.length > 0 && h("div", { class: "row" }, earlier.map((title, i) => pick(`session ${i + 1}`, `Before session ${i + 1}${title ? `: ${title}` : ""}`, { session: i + 1 }))),
    scene.tries.length > 0 && h("div", { class: "row" }, scene.tries.map((name) => pick(`try ${name}`, `Try: ${name}`, { try: name }))),
    moves > 0 && may() && h("div", { class: "row" }, h("label", {}, "keep what is moved as a try named ", h("input", { type: "text", size: 10, maxlength: 60, "data-at": "try name", ...unsent("try name") })), button("Keep", keep, { "data-at": "keep try" })),
    !earlier.length && !scene.tries.length && !moves && h("p", { class: "note" }, `Nothing to compare with yet${may() ? ": open a session, or move something and keep it as a try" : ""}.`),
    state.compare && result(state.compare));
}

function result(other) {
  const isTry = other.key.startsWith("try "), [now, there] = other.stops;
  const take = () => set({ draft: Object.fromEntries(other.moved.map((one) => [one.number, one.before ? { object: one.number, panel: one.before.panel, face: one.before.face, from_left_mm: one.before.from_left_mm, y_mm: one.before.y_mm } : { object: one.number, panel: null }])), trial: [], tab: "session" });
  return h("div", {}, h("p", {}, `${other.moved.length} object${other.moved.length === 1 ? " stands" : "s stand"} elsewhere; stops on record ${now}, ${isTry ? "in the try" : "then"} ${there}.`),
    other.moved.length ? h("ul", { class: "book moved" }, other.moved.map((one) => h("li", {}, one.sentence))) : h("p", { class: "note" }, "everything stands where it stood"),
    pictures(other, isTry),
    list("Stops that only the record has", other.only_now), list(`Stops that only ${isTry ? "the try" : "the earlier state"} has`, other.only_there), list("The record would refuse", other.refused),
    isTry && may() && other.moved.length > 0 && button("Move them as the try has it", take, { class: "main", "data-at": "take try" }));
}

const list = (title, lines) => lines.length > 0 && h("div", {}, h("h4", {}, title), h("ul", {}, lines.map((line) => h("li", {}, line))));

// Each face that differs, twice: there and on record.
function pictures(other, isTry) {
  const by = Object.fromEntries(other.moved.map((one) => [one.number, one.before])), moved = (one) => one.number in by;
  const there = (one) => (moved(one) ? by[one.number] : onRecord(one));
  return state.scene.panels.flatMap((panel) => ["A", "B"].filter((face) => state.scene.objects.some((one) => moved(one) && (onFace(onRecord(one), panel, face) || onFace(there(one), panel, face))))
    .map((face) => { const frame = frameOf(panel, face, [there, onRecord]);
      return h("div", { class: "three pair" }, [[isTry ? "the try" : "then", there], ["on record", onRecord]].map(([words, place]) => facePicture(panel, face, place, moved, frame, `${panel.name} ${face}, ${words}`))); }));
}
