// Puts the page together: opens the case, draws it whenever something changed, and listens to the keyboard.

import { drawCard } from "./card.js";
import { button, h, show } from "./dom.js";
import { drawFace, fit, goTo, picturesFrom, zoom } from "./elevation.js";
import { drawFindings, oneGroup } from "./findings.js";
import { drawLayouts } from "./layouts.js";
import { acceptNudge, askNudge, confirm, dropAll, loadCard, sayWith, select, undo } from "./moves.js";
import { skinWith } from "./object.js";
import { drawBar, drawSession, drawToDo } from "./people.js";
import { source } from "./source.js";
import { drawSpace, showSkin, toggleSpace } from "./space.js";
import { changed, kept, may, objectOf, set, standOf, state, watch } from "./store.js";
import { drawStrip } from "./strip.js";
import { visible } from "./visible.js";

const $ = (id) => document.getElementById(id);
let quiet = 0;

function say(words) {
  $("news").textContent = visible(words);
  $("news").className = "shown";
  $("news").tabIndex = $("news").scrollHeight > $("news").clientHeight + 1 ? 0 : -1; // what does not fit its line is reached by the keyboard
  clearTimeout(quiet);
  quiet = setTimeout(() => { $("news").className = ""; }, 9000);
}

const OPTIONS = [["snap", "Snap"], ["gaps", "Gaps"], ["groups", "Groups"], ["other", "Other face"], ["eyes", "Eye lines"], ["pictures", "Pictures"]];

function drawTools() {
  show($("tools"), h("b", {}, `${state.panel}, face ${state.face}`), h("small", {}, " as its own viewer sees it"), h("span", { class: "spring" }),
    OPTIONS.map(([name, words]) => button(words, () => { state.options[name] = !state.options[name]; changed(); }, { "aria-pressed": String(state.options[name]), class: "chip" })),
    button("Objects", () => fit(false), { title: "see what stands on this face" }), button("Whole face", () => fit(true)),
    button("+", () => zoom(1.25), { "aria-label": "Nearer", "data-at": "nearer" }), button("−", () => zoom(0.8), { "aria-label": "Further", "data-at": "further" }),
    button("3D", toggleSpace, { "aria-pressed": String(!!state.space), class: "chip" }));
}

function drawDraft() {
  const moves = Object.values(state.draft), place = $("draft");
  place.hidden = !moves.length && !state.nudge;
  if (place.hidden) return;
  const stops = (state.trial || []).filter((g) => g.verdict === "stop"), looks = (state.trial || []).filter((g) => g.verdict === "look");
  show(place, h("div", { class: "row" },
    h("b", {}, moves.length ? `${moves.length === 1 ? moves[0].object : `${moves.length} objects`} moved, not saved` : "Proposed"),
    state.trial && h("span", { class: stops.length ? "bad" : "good" }, stops.length ? `▲ ${stops.length} stop${stops.length > 1 ? "s" : ""}` : looks.length ? `● ${looks.length} to look at` : "✓ nothing in the way"),
    h("span", { class: "spring" }),
    state.nudge ? [button(`Accept the nudge (${state.nudge.moves.length})`, acceptNudge, { class: "main", disabled: !state.nudge.moves.length, "data-at": "accept" }), button("Keep it as it is", () => set({ nudge: null }))] :
      [moves.length > 0 && button("Confirm", () => confirm(), { class: "main", title: "put it on record (Enter)" }), button("Nudge clear", askNudge, { title: "find the least moves that clear every stop" }), moves.length > 0 && button("Drop", dropAll, { title: "forget these moves (Esc)" })]),
  state.nudge && h("ul", {}, state.nudge.moves.map((m) => h("li", {}, m.sentence)), state.nudge.reasons.map((why) => h("li", {}, why))),
  state.trial && state.trial.length > 0 && h("ul", { class: "findings" }, state.trial.filter((g) => g.verdict !== "unmeasured").slice(0, 4).map((g) => oneGroup(g, `draft ${g.cause} ${g.subject}`))));
}

const TABS = [["object", "Object", drawCard], ["findings", "Findings", drawFindings], ["layouts", "Layouts", drawLayouts], ["session", "Session", drawSession], ["measure", "To do", drawToDo]];

function drawSide() {
  if (!state.scene) return;
  if (state.tab === "object" && state.selected) loadCard(state.selected);
  const stops = state.scene.groups.filter((g) => g.verdict === "stop").length, one = TABS.find(([name]) => name === state.tab);
  const old = $("panel"), top = old && old.dataset.of === `${state.tab} ${state.selected}` ? old.scrollTop : 0;
  show($("side"), h("div", { role: "tablist", "aria-label": "What is shown", class: "tabs", onkeydown: tabKeys }, TABS.map(([name, words]) => h("button", { type: "button", role: "tab", id: `tab ${name}`.replace(" ", "-"), "aria-selected": String(name === state.tab), "aria-controls": "panel",
    tabindex: name === state.tab ? 0 : -1, "data-at": `tab ${name}`, onclick: () => set({ tab: name }) }, words, name === "findings" && stops > 0 && ` ▲${stops}`))),
  h("div", { role: "tabpanel", id: "panel", tabindex: 0, "data-at": "panel", "aria-labelledby": `tab-${state.tab}`, "data-of": `${state.tab} ${state.selected}` }, one[2]()));
  $("panel").scrollTop = top;
  if (state.part && state.tab === "object" && state.cards[state.selected]) {
    ($(state.part) || $("of-facts"))?.scrollIntoView({ block: "start" });
    $("panel").focus({ preventScroll: true });
    state.part = null;
  }
}

function tabKeys(event) {
  const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
  if (!way) return;
  const names = TABS.map(([name]) => name), next = names[(names.indexOf(state.tab) + way + names.length) % names.length];
  set({ tab: next });
  requestAnimationFrame(() => requestAnimationFrame(() => $(`tab-${next}`)?.focus()));
}

// Typing in a field is never a command.
const typing = (target) => target.matches?.("input, textarea, select");

function keys(event) {
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && !typing(event.target)) { event.preventDefault(); undo(); return; }
  if (event.ctrlKey || event.metaKey || event.altKey || typing(event.target)) return;
  const one = state.selected && objectOf(state.selected), onThing = event.target.closest?.(".thing");
  if (event.key === "Enter" && onThing) { event.preventDefault(); if (Object.keys(state.draft).length) confirm(); else set({ tab: "object" }); }
  else if (event.key === "Escape" && state.nudge) set({ nudge: null });
  else if (event.key === "Escape" && Object.keys(state.draft).length && !onThing) dropAll();
  else if (/^[1-9]$/.test(event.key) && one && onThing) document.querySelector(`#side [data-at="hold ${event.key - 1}"]`)?.click();
  else if (event.key === "n") askNudge();
  else if (event.key === "f") nextFinding();
  else if (event.key === "?") say("Tab goes round the objects · arrows move 1 mm, Shift 10 mm · Enter confirms · Esc steps back · 1–9 choose a hold · n nudges · f next finding · Ctrl+Z undo");
}

let finding = -1;
function nextFinding() {
  const list = state.scene.groups.filter((g) => g.objects.length && g.verdict !== "unmeasured");
  if (!list.length) { say("no finding asks for a look"); return; }
  finding = (finding + 1) % list.length;
  const group = list[finding];
  select(group.objects[0]);
  if (standOf(objectOf(group.objects[0]))) goTo(group.objects[0]);
  say(`${group.sentence} → ${group.remedy}`);
}

async function start() {
  sayWith(say);
  skinWith(showSkin);
  picturesFrom((key) => source.picture(key));
  set({ me: kept("me", state.me), units: kept("units", ""), look: kept("look", "auto") });
  for (const draw of [drawBar, drawTools, drawStrip, drawFace, drawDraft, drawSide, drawSpace]) watch(() => state.scene && draw());
  addEventListener("keydown", keys);
  addEventListener("resize", changed);
  try {
    await source.open((said) => { if (said.sentences?.length) say(said.sentences.join("; ")); if (said.type === "card" && said.object === state.selected) changed(); if (said.type === "opening") say(`Opening the case: ${said.done} of ${said.of}`); if (said.type === "back") say("connected again; the case is shown as it stands now"); });
  } catch (problem) { $("news").textContent = visible(`The case cannot be shown: ${problem.message}`); $("news").className = "shown"; return; }
  $("news").className = "";
  const first = state.scene.objects.find((one) => one.panel);
  set({ panel: first ? first.panel : state.scene.panels[0]?.name, face: first ? first.face : "A", units: state.units || state.scene.units });
  if (!state.scene.panels.length) { $("news").textContent = "This case has no panel yet. Write one into case.toml."; $("news").className = "shown"; }
  watch(() => { if (!state.opening) requestAnimationFrame(() => { document.documentElement.dataset.ready = may() ? "decides" : "guest"; }); });
  changed();
}

start();
