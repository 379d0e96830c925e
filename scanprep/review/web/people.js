// The bar at the top: the session, who sits at this page, what changed, sign-off, and how the page looks.

import { drawCompare } from "./compare.js";
import { button, h, show } from "./dom.js";
import { decide, undo } from "./moves.js";
import { work } from "./object.js";
import { source } from "./source.js";
import { changed, keep, may, set, state } from "./store.js";
import { sent, textOf, unsent } from "./unsent.js";
import { visible } from "./visible.js";

const ROLES = ["curator", "designer", "conservator", "mountmaker", "installer"];
const LINK = { opening: "opening…", live: "● saved as you decide", lost: "✕ connection lost: nothing is lost; it comes back by itself", file: "a file to look at" };

// Cards say lengths in the page's unit: those that are not shown are asked for anew.
const shownOnly = () => (state.cards[state.selected] ? { [state.selected]: state.cards[state.selected] } : {});

export function drawBar() {
  const { scene } = state;
  if (!scene) return;
  const me = (values) => { state.me = { ...state.me, ...values }; keep("me", state.me); set({}); };
  const session = scene.session, open = session.open;
  show(document.getElementById("bar"),
    h("h1", {}, scene.title),
    h("span", { class: "session" }, session.number ? `session ${session.number}${open ? "" : " (closed)"}${session.title ? `: ${session.title}` : ""}${session.people.length ? ` · ${session.people.join(", ")}` : ""}` : "no session yet"),
    scene.signed_off && h("strong", { class: "signed" }, `✓ signed off by ${scene.signed_off}`),
    h("span", { class: `link ${state.link}` }, state.busy || (state.opening ? `opening the case (${state.opening.done} of ${state.opening.of}): you may look` : state.link === "live" && state.seat === "guest" ? "● in step" : LINK[state.link]), state.seat === "guest" && state.link !== "file" && " · guest: you look, others decide"),
    state.work.length > 0 && h("details", { class: "working", open: !!state.folded.working, ontoggle: (event) => { state.folded.working = event.target.open; } }, h("summary", { "data-at": "working" }, `⟳ ${state.work.length} search${state.work.length > 1 ? "es" : ""} for holds`), work(null)),
    h("span", { class: "spring" }),
    h("span", { class: "row" },
      may() && h("label", {}, "name ", h("input", { id: "person", type: "text", size: 10, maxlength: 80, autocomplete: "name", value: state.me.person, "data-at": "person", onchange: (event) => me({ person: event.target.value }) })),
      may() && h("label", {}, "as ", h("select", { "data-at": "role", onchange: (event) => me({ role: event.target.value }) }, ROLES.map((role) => h("option", { value: role, selected: role === state.me.role }, role)))),
      may() && button("Undo", undo, { title: "take the last move or decision of this page back (Ctrl+Z)" }),
      button(state.units, () => { const units = state.units === "mm" ? "in" : "mm"; keep("units", units); set({ units, cards: source.live ? shownOnly() : state.cards }); }, { "data-at": "units", "aria-label": `Lengths in ${state.units}: change` }),
      button(state.look === "dark" ? "☾" : state.look === "light" ? "☀" : "◐", () => { const look = { auto: "light", light: "dark", dark: "auto" }[state.look]; keep("look", look); set({ look }); }, { "data-at": "look", "aria-label": `Look: ${state.look}; change` })));
  document.documentElement.dataset.look = state.look;
  document.title = visible(`${scene.title} – review`);
}

export function drawSession() {
  const { scene } = state, session = scene.session;
  const people = () => textOf("session people").split(",").map((one) => one.trim()).filter(Boolean);
  const openSession = async () => { if (await decide({ what: "session", yes: true, words: textOf("session title"), people: people() }, [""])) sent("session title", "session people"); };
  const sign = async () => { if (await decide({ what: "sign-off", yes: !scene.signed_off, words: textOf("sign words") }, [""])) sent("sign words"); };
  return [h("section", {}, h("h3", {}, "Session"),
    session.open ? h("div", {}, h("p", {}, `Session ${session.number} is open: what is decided now belongs to it.`), may() && button("Close the session", () => decide({ what: "session", yes: false }, [""]))) :
      !may() ? h("p", { class: "note" }, "no session is open") : h("div", { class: "say" }, h("label", {}, "title ", h("input", { type: "text", "data-at": "session title", ...unsent("session title") })), h("label", {}, "who sits at the table ", h("input", { type: "text", "data-at": "session people", ...unsent("session people"), placeholder: "Ada, Ben" })),
        button(`Open session ${session.number + 1}`, openSession, { class: "main", "data-at": "open session" }))),
  h("section", {}, h("h3", {}, `What changed in it (${session.decisions.length})`), session.decisions.length ? h("ol", { class: "book" }, session.decisions.map((line) => h("li", {}, line))) : h("p", { class: "note" }, "nothing yet")),
  drawCompare(),
  may() && h("section", {}, h("h3", {}, "Sign-off"), h("p", { class: "note" }, scene.signed_off ? "After it every change needs a reason." : "Signing off says: so shall it be drilled. Findings that say stop need a reason."),
    h("div", { class: "say" }, h("label", {}, "reason ", h("input", { type: "text", "data-at": "sign words", ...unsent("sign words") })),
      button(scene.signed_off ? "Lift the sign-off" : "Sign the case off", sign, { "data-at": "sign off" }))),
  h("section", {}, h("h3", {}, "Cautions"), h("ul", {}, scene.cautions.map((line) => h("li", {}, line))))];
}

const FIRST = 8; // objects of one decision that are shown before the rest is asked for

// What only a person can settle, object by object.
function wanted(one) {
  const words = one.release ? one.release.reasons.filter((why) => /has not agreed|have not agreed|has not named|only proposed/.test(why)) : [];
  return [!one.panel && "a place", ...words, ...one.questions.map((q) => `${q.of}: answer about its ${q.what}`),
    ...one.agreements.filter((a) => a.stands && a.refused).map((a) => `${a.person} refuses its ${a.what}: ${a.note}`)].filter(Boolean);
}

export function drawToDo() {
  const waiting = state.scene.groups.filter((g) => g.verdict === "unmeasured");
  const by = new Map(); // what is wanted -> of which objects
  for (const one of state.scene.objects) for (const what of wanted(one)) by.set(what, [...(by.get(what) || []), one.number]);
  const mine = (what) => may() && what.includes(state.me.role), asked = [...by].sort(([a], [b]) => mine(b) - mine(a)); // what waits for who sits here comes first
  return [h("h3", {}, `Decisions required (${by.size})`), by.size ? h("ul", { class: "list to-do" }, asked.map(([what, numbers]) => {
    const key = `wanted ${what}`, all = state.folded[key] || numbers.length <= FIRST, shown = all ? numbers : numbers.slice(0, FIRST);
    return h("li", {}, h("p", {}, mine(what) ? h("b", {}, what) : what, `: ${numbers.length === state.scene.objects.length ? `all ${numbers.length} objects` : `${numbers.length} object${numbers.length === 1 ? "" : "s"}`}`), h("div", { class: "row" }, shown.map((number) =>
      button(number, () => set({ selected: number, tab: "object", part: "of-words" }), { class: "chip", "data-at": `wanted ${what} ${number}`, "aria-label": `${number}: ${what}` })),
    numbers.length > FIRST && button(all ? "Fewer" : `and ${numbers.length - FIRST} more`, () => { state.folded[key] = !state.folded[key]; changed(); }, { "data-at": key, "aria-expanded": String(all) })));
  })) : h("p", { class: "note" }, "none"),
  h("h3", {}, "To be measured"), h("p", { class: "note" }, "Until these are measured the verdict reads unmeasured and no paper is for drilling."),
    h("ul", { class: "findings" }, waiting.map((g) => h("li", { class: "finding unmeasured" }, h("p", {}, h("b", {}, "○ "), g.sentence), h("p", { class: "remedy" }, "→ ", g.remedy))))];
}
