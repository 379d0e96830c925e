// What is said of an object besides its hold and place: which way up, angles of one's own, where nothing may touch,
// stand-off, pad, note. Each is the word of its role and goes on record.

import { button, h } from "./dom.js";
import { parsed, written } from "./measures.js";
import { decide, say } from "./moves.js";
import { source } from "./source.js";
import { changed, may, set, state } from "./store.js";
import { sent, textOf, unsent } from "./unsent.js";
import { visible } from "./visible.js";

let showSkin = () => {}; // the view in space, which needs this module itself
export function skinWith(given) { showSkin = given; }

export const sayOf = (one, line, words = "") => decide({ what: "say", object: one.number, line, words }, [one.number]);

export function showings(one, card) {
  if (!card.showings.length) return null;
  const take = (way) => sayOf(one, { up: way.up, front: way.front });
  return h("section", { id: "of-showing" }, h("h3", {}, "Which way up, which side to the front?"),
    h("p", { class: "note" }, "The scan does not settle it. Choose the picture that shows it right; its holds are then looked for anew."),
    h("div", { class: "showings" }, card.showings.map((way) => h("article", { class: way.now ? "hold chosen" : "hold" },
      h("img", { src: source.showing(card.shape, way.index), alt: `${one.number}, ${way.words}`, width: 110, height: 110, class: may() ? "pick" : null, onclick: () => may() && take(way) }),
      h("p", { title: way.words }, h("b", {}, `${way.index + 1}  `), h("small", {}, way.why)),
      button(way.now ? "Yes, as shown" : "This one", () => take(way), { "data-at": `showing ${way.index}`, disabled: !may(), "aria-label": `Picture ${way.index + 1}: ${way.words}` })))));
}

export const anglesOf = (one, card) => state.angles[one.number] ??= (([tilt_deg, turn_deg, roll_deg]) => ({ tilt_deg, turn_deg, roll_deg }))(card.holds[card.chosen ?? 0]?.angles_deg ?? [0, 0, 0]);

export function setAngle(one, card, name, value) {
  const number = Number(String(value).replace(",", ".").replace("°", ""));
  if (!Number.isFinite(number) || Math.abs(number) > 180) { say(`${value} is no angle: write a number from -180 to 180`); changed(); return; }
  state.angles[one.number] = { ...anglesOf(one, card), [name]: Math.round(number * 10) / 10 };
  changed();
}

export async function askAngles(one, card) {
  try { await source.angles(one.number, anglesOf(one, card)); say("looking for a hold at these angles; go on meanwhile"); } catch (problem) { say(problem.message); }
}

export const angleFields = (one, card) => [["tilt_deg", "tilt"], ["turn_deg", "turn"], ["roll_deg", "roll"]].map(([name, words]) =>
  h("label", {}, `${words} `, h("input", { type: "text", inputmode: "decimal", size: 5, value: `${anglesOf(one, card)[name]}°`, "data-at": `angle ${words}`, disabled: !may(), onchange: (event) => setAngle(one, card, name, event.target.value) })));

export function ownAngles(one, card) {
  if (!source.live) return null;
  return h("section", { id: "of-angles" }, h("h3", {}, "Angles of your own"),
    h("div", { class: "row" }, angleFields(one, card)),
    h("p", { class: "note" }, "tilt: its top towards you +; turn: its left side towards you +; roll: counter-clockwise +"),
    h("div", { class: "row" }, may() && button("Look for a hold", () => askAngles(one, card), { class: "main", "data-at": "ask angles" }), button("Turn it by hand", () => showSkin(one, card, "turn"), { "data-at": "turn by hand" })),
    work(one),
    card.asked.length > 0 && h("ul", { class: "book" }, card.asked.map((tried) => h("li", {}, h("b", {}, tried.angles), `: ${tried.why || "no hold"}`))));
}

// What waits or runs for an object, or for all of them.
export function work(one) {
  const jobs = state.work.filter((job) => !one || job.object === one.number);
  return jobs.length > 0 && h("ul", { class: "book work" }, jobs.map((job) => h("li", {}, job.seconds === null ? "waits: " : [h("b", {}, `looking for ${Math.round(job.seconds)} s`, job.steps ? `, ${job.steps[0]} of ${job.steps[1]} steps: ` : ", reading the scan: "), job.steps && h("progress", { max: job.steps[1], value: job.steps[0], "aria-label": `${job.steps[0]} of ${job.steps[1]} steps` })], ` ${one ? "" : `${job.object}, `}${job.words} `,
    job.by_hand && may() && button("Stop", () => source.stop(job.object).catch((problem) => say(problem.message)), { "data-at": `stop ${job.object} ${job.words}`, "aria-label": `Stop looking for ${job.words}` }))));
}

export function noTouch(one, card) {
  const reasons = new Map();
  for (const mark of card.no_touch) reasons.set(mark.why, (reasons.get(mark.why) || 0) + 1);
  return h("section", { id: "of-touch" }, h("h3", {}, "Where nothing may touch"),
    reasons.size ? h("ul", { class: "book" }, [...reasons].map(([why, count]) => h("li", {}, `${why || "no reason given"} (${count} mark${count === 1 ? "" : "s"}) `,
      may() && button("Take away", () => sayOf(one, { unmark: [why] }), { "data-at": `unmark ${why}`, "aria-label": `Take the marks away: ${why || "no reason given"}` })))) : h("p", { class: "note" }, "no marks"),
    source.live && button(may() ? "Paint marks on it" : "See it in 3D", () => showSkin(one, card, "paint"), { "data-at": "paint" }));
}

export function details(one, card) {
  if (!may() && !card.note) return null;
  const standOff = (text) => {
    const mm = parsed(text, state.units);
    if (mm === null) { say(`${text} is no length`); changed(); return; }
    sayOf(one, { stand_off_mm: mm });
  };
  const fixed = !may(), unsaid = `note ${one.number}`;
  const keepNote = async () => { if (await sayOf(one, { note: textOf(unsaid, card.note) })) sent(unsaid); };
  return h("section", { id: "of-details" }, h("h3", {}, "Stand-off, pad, note"),
    h("div", { class: "row" },
      h("label", {}, "stand-off ", h("input", { type: "text", size: 8, value: written(card.stand_off_mm, state.units), disabled: fixed, "data-at": "stand-off", onchange: (event) => standOff(event.target.value) })),
      card.usual_stand_off_mm !== null && !fixed && button(`Usual: ${written(card.usual_stand_off_mm, state.units)}`, () => sayOf(one, { usual_stand_off: true }), { "data-at": "usual stand-off" }),
      h("label", {}, "pad ", h("select", { disabled: fixed, "data-at": "pad", onchange: (event) => event.target.value && sayOf(one, { pad: event.target.value }) },
        h("option", { value: "" }, "not named"), card.pads.map((pad) => h("option", { value: pad, selected: pad === card.pad }, pad))))),
    h("label", { class: "say" }, "note", h("textarea", { rows: 2, "data-at": "line note", disabled: fixed, ...unsent(unsaid, card.note) })),
    visible(card.note) !== card.note && h("p", { class: "note", id: "of-note-seen" }, `It holds characters that are not seen: ${card.note}`),
    !fixed && button("Keep the note", keepNote, { "data-at": "keep note" }));
}
