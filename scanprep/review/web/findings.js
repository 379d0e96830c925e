// Findings by cause, stops first, each with what to do and a button that goes there.

import { button, h } from "./dom.js";
import { goTo } from "./elevation.js";
import { loadCard, select } from "./moves.js";
import { changed, objectOf, set, standOf, state } from "./store.js";

const WORDS = { stop: "Stop", look: "Look", unmeasured: "To measure" };
const SIGN = { stop: "▲", look: "●", unmeasured: "○" };
const THERE = { place: "Show where", hold: "See its holds", contact: "Decide", scan: "See its facts", "way-up": "See which way up",
  post: "See its facts", hole: "Show where", panel: "Show the panel", order: "See its place", record: "Decide", measure: "What to measure" };
// The part of an object's card to which a cause leads.
const PART = { hold: "of-holds", contact: "of-words", scan: "of-facts", "way-up": "of-showing", post: "of-facts", hole: "of-place", order: "of-place", record: "of-words", measure: "of-measure" };
// A finding is read at a glance; what it says after that is there on demand.
const GLANCE = 140;

// A long sentence, cut where its first statement ends: [what is read at a glance, whether there is more].
export function glance(sentence) {
  const end = sentence.length > GLANCE ? sentence.indexOf("; ", 60) : -1;
  return end < 0 ? [sentence, false] : [`${sentence.slice(0, end)} …`, true];
}

export function go(group) {
  const number = group.objects[0];
  if (group.cause === "panel" && !number) {
    const panel = state.scene.panels.find((one) => group.subject.includes(one.name));
    if (panel) set({ panel: panel.name });
    return;
  }
  if (group.cause === "measure" && !number) { set({ tab: "measure" }); return; }
  if (!number) return;
  select(number);
  loadCard(number);
  if (objectOf(number) && standOf(objectOf(number))) goTo(number);
  const there = ["place", "hole"].includes(group.cause) && standOf(objectOf(number));
  set({ tab: there ? "findings" : "object", part: there ? null : PART[group.cause] || "of-findings" });
  if (there) document.querySelector(`#face [data-number="${CSS.escape(number)}"]`)?.focus();
}

export function oneGroup(group, key) {
  const open = !!state.folded[key], more = group.findings.length - 1, [short, longer] = glance(group.sentence);
  const targets = group.objects.length || ["panel", "measure"].includes(group.cause);
  const words = [longer && "in full", more > 0 && `${more} more from this cause`].filter(Boolean).join(", ");
  return h("li", { class: `finding ${group.verdict}`, "data-cause": group.cause },
    h("p", {}, h("b", { class: "sign" }, `${SIGN[group.verdict]} ${WORDS[group.verdict]}`), " ", open ? group.sentence : short),
    h("p", { class: "remedy" }, "→ ", group.remedy),
    h("p", { class: "row" },
      targets && button(THERE[group.cause] || "Go there", () => go(group), { "data-at": `go ${key}`, "aria-label": `${THERE[group.cause] || "Go there"}: ${group.subject}` }),
      words && button(open ? "Less" : words, () => { state.folded[key] = !open; changed(); }, { "data-at": `more ${key}`, "aria-expanded": String(open) })),
    open && more > 0 && h("ul", { class: "more" }, group.findings.slice(1).map((one) => h("li", {}, one.sentence, one.remedy && h("span", { class: "remedy" }, ` → ${one.remedy}`)))));
}

export const keyOf = (group) => `${group.cause} ${group.subject} ${group.verdict}`;

export function drawFindings() {
  const all = state.scene.groups, count = (verdict) => all.filter((g) => g.verdict === verdict).length;
  const chosen = state.selected && state.filter === "object";
  const shown = all.filter((g) => (state.filter === "all" ? g.verdict !== "unmeasured" : chosen ? g.objects.includes(state.selected) : g.verdict === state.filter));
  const filters = [["all", `All ${count("stop") + count("look")}`], ["stop", `▲ Stop ${count("stop")}`], ["look", `● Look ${count("look")}`],
    ["unmeasured", `○ To measure ${count("unmeasured")}`], ["object", "This object"]];
  const causes = [...new Set(shown.map((g) => `${g.verdict}|${g.title}`))];
  return [h("div", { class: "row", role: "group", "aria-label": "Which findings" }, filters.map(([name, words]) =>
    button(words, () => set({ filter: name }), { "aria-pressed": String(state.filter === name), class: "chip", disabled: name === "object" && !state.selected }))),
  state.scene.failures.length > 0 && h("section", {}, h("h3", {}, "Scans that cannot be used"), h("ul", {}, state.scene.failures.map(([number, why]) => h("li", {}, `${number}: ${why}`)))),
  state.scene.panels_waiting.length > 0 && h("p", { class: "note" }, `Being worked out again: ${state.scene.panels_waiting.map((name) => `panel ${name}`).join(", ")}. What is said of it is from before the last change.`),
  !shown.length && h("p", { class: "note" }, "Nothing here asks for a look."),
  causes.map((name) => {
    const [verdict, title] = name.split("|"), mine = shown.filter((g) => g.verdict === verdict && g.title === title);
    return h("section", { class: "cause" }, h("h3", {}, `${title} `, h("small", {}, `${WORDS[verdict]} · ${mine.length}`)), h("ul", { class: "findings" }, mine.map((g) => oneGroup(g, keyOf(g)))));
  })];
}
