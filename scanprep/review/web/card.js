// One object: its holds as pictures, figures in plain words, where it stands, what people said, what to measure.

import { button, fold, h } from "./dom.js";
import { glance, keyOf, oneGroup } from "./findings.js";
import { parsed, written } from "./measures.js";
import { decide, moveTo, say } from "./moves.js";
import { details, noTouch, ownAngles, showings } from "./object.js";
import { source } from "./source.js";
import { showHold } from "./space.js";
import { changed, datumX, may, objectOf, set, standOf, state } from "./store.js";
import { sent, textOf, unsent } from "./unsent.js";

const SIGN = { stop: "▲", look: "●", unmeasured: "○", ok: "✓" };

export function drawCard() {
  const one = state.selected && objectOf(state.selected);
  if (!one) return [h("p", { class: "note" }, "Choose an object: click it, or go round with Tab."), objectList()];
  const card = state.cards[one.number], mine = state.scene.groups.filter((g) => g.objects.includes(one.number));
  return [
    h("h2", {}, one.number, " ", h("span", {}, one.title)),
    h("p", { class: "note" }, one.group && `${one.group} · `, `${one.attitude} · ${one.chosen_by === "proposed" ? "proposed, nobody chose yet" : `chosen by ${one.chosen_by}`}`,
      one.stage !== "planned" && ` · ${one.stage}`),
    tally(mine), jumps(), !card && h("p", { class: "note" }, "reading…"), card?.waits && h("p", { class: "waits" }, `⟳ ${card.waits}`), card && showings(one, card), card && holds(one, card), card && ownAngles(one, card), words(one), standing(one),
    card && noTouch(one, card), card && details(one, card),
    card && h("section", { id: "of-facts" }, h("h3", {}, "Facts"), factList(one, card.facts)),
    h("section", { id: "of-findings" }, h("h3", {}, "Findings"), mine.length ? h("ul", { class: "findings" }, mine.map((g) => oneGroup(g, `card ${keyOf(g)}`))) : h("p", { class: "note" }, "none")),
    card && card.measure.length > 0 && h("section", { id: "of-measure" }, h("h3", {}, "To be measured next"),
      h("ul", {}, card.measure.map(([kind, how]) => h("li", {}, h("b", {}, kind), `: ${how}`)))),
    card && book(one, card),
  ];
}

const factList = (one, facts) => h("ul", { class: "facts" }, facts.map((fact) => { const [short, longer] = glance(fact.words), words = `${SIGN[fact.verdict]} ${fact.words}`;
  return h("li", { class: fact.verdict }, longer ? fold(`fact ${one.number} ${fact.name}`, `${SIGN[fact.verdict]} ${short}`, words) : words); }));

// What is said of it, in one line under its name, so that nobody agrees to a hold and reads of its stop below.
function tally(mine) {
  const count = (verdict) => mine.filter((g) => g.verdict === verdict).length, [stops, looks] = [count("stop"), count("look")];
  return h("p", { class: stops ? "bad" : "note" }, stops > 0 && `▲ ${stops} stop${stops > 1 ? "s" : ""}`, stops > 0 && looks > 0 && " · ", looks > 0 && `● ${looks} to look at`, !stops && !looks && "✓ nothing asks for a look");
}

const JUMPS = [["of-holds", "Holds"], ["of-words", "Say"], ["of-place", "Place"], ["of-touch", "No touch"], ["of-findings", "Findings"], ["of-book", "Logbook"]];

function jumps() {
  return h("nav", { class: "row jump", "aria-label": "Parts of this card" }, JUMPS.map(([id, name]) =>
    button(name, () => document.getElementById(id)?.scrollIntoView({ block: "start" }), { "data-at": `jump ${id}` })));
}

function objectList() {
  const without = state.scene.objects.filter((one) => !standOf(one));
  return without.length ? h("section", {}, h("h3", {}, "Without a place"), h("ul", { class: "list" }, without.map((one) =>
    h("li", {}, button(`${one.number} ${one.title}`, () => set({ selected: one.number }), { "data-at": `list ${one.number}` }))))) : null;
}

function field(name, label, value, act, given = {}) {
  return h("label", {}, `${label} `, h("input", { type: "text", value, "data-at": name, onchange: (event) => act(event.target.value), ...given }));
}

function standing(one) {
  const at = standOf(one), still = !may() || one.locked || one.hole_state === "drilled";
  const typed = (of) => (text) => {
    const mm = parsed(text, state.units);
    if (mm === null) { say(`${text} is no length: write a number, with mm or in where it is not ${state.units}`); changed(); return; }
    moveTo(one, { ...at, ...of(mm) });
  };
  const faces = state.scene.panels.flatMap((panel) => ["A", "B"].map((face) => `${panel.name} ${face}`));
  const [panel] = state.scene.panels;
  const put = (name) => {
    const face = name.slice(-1), sheet = state.scene.panels.find((p) => p.name === name.slice(0, -2)) || panel;
    moveTo(one, { panel: sheet.name, face, from_left_mm: at ? at.from_left_mm : sheet.width_mm / 2, y_mm: at ? at.y_mm : Math.max(sheet.height_mm / 2, 1300 - sheet.stands_at_mm) });
    set({ panel: sheet.name, face });
  };
  return h("section", { id: "of-place", class: "stand" }, h("h3", {}, "Where its hole is"),
    h("div", { class: "row" },
      h("label", {}, "face ", h("select", { "data-at": "face of object", disabled: still, onchange: (event) => event.target.value && put(event.target.value) },
        !at && h("option", { value: "" }, "none yet"), faces.map((name) => h("option", { value: name, selected: !!at && `${at.panel} ${at.face}` === name }, name)))),
      at && field("x of object", "X", written(datumX(at), state.units), typed((mm) => ({ from_left_mm: datumX({ ...at, from_left_mm: mm }) })), { disabled: still, size: 7 }),
      at && field("y of object", "Y", written(at.y_mm, state.units), typed((mm) => ({ y_mm: mm })), { disabled: still, size: 7 })),
    h("p", { class: "note" }, one.hole ? `hole ${one.hole}, ${one.hole_state}` : "no hole yet", one.drill && `, drill ${one.drill}`, one.rod && `, rod ${one.rod}`,
      one.session ? `, session ${one.session}` : "", at && ` · X and Y from the datum corner, lower ${at.face === "A" ? "left" : "right"} on this face`),
    one.release && h("div", { class: "release" }, h("p", {}, h("b", {}, one.release.released ? "✓ may be drilled now" : one.release.state === "drilled" ? "drilled" : `✕ not to be drilled: ${one.release.reasons.length} thing${one.release.reasons.length === 1 ? "" : "s"} open`)),
      one.release.reasons.length > 0 && fold(`release ${one.number}`, "What it waits for", h("ul", {}, one.release.reasons.map((why) => h("li", {}, why))))),
    at && may() && h("div", { class: "row" }, button(one.locked ? "Unlock" : "Lock here", () => decide({ what: "lock", object: one.number, yes: !one.locked }, [one.number]), { "data-at": "lock" }),
      !still && button("Take off the panel", () => decide({ what: "place", moves: [{ object: one.number, panel: null }] }, [one.number]), { "data-at": "off" })));
}

// Angles at which nothing holds it: what to do is said once where it is the same for several.
function refused(card) {
  const by = new Map();
  for (const [name, why, advice] of card.refusals) by.set(advice, [...(by.get(advice) || []), [name, why]]);
  return h("ul", { class: "refused" }, [...by].map(([advice, ways]) => [ways.map(([name, why]) => h("li", {}, h("b", {}, name), `: ${why}`)), h("li", { class: "remedy" }, `→ ${advice}`)]));
}

function holds(one, card) {
  if (!card.holds.length) return h("section", { id: "of-holds" }, h("h3", {}, "Holds"), h("p", {}, h("b", { class: "bad" }, "▲ No hold was found.")),
    h("img", { class: "alone", src: source.picture(card.shape), alt: `${one.number} as it stands` }), refused(card));
  const choose = (hold) => { state.large[one.number] = hold.index; return decide({ what: "hold", object: one.number, index: hold.index }, [one.number]); };
  const large = state.large[one.number] ?? card.chosen ?? 0;
  return h("section", { id: "of-holds" }, h("h3", {}, `Holds, best first (${card.holds.length})`),
    h("div", { role: "radiogroup", "aria-label": `Holds of ${one.number}`, class: "holds" }, card.holds.map((hold) => {
      const on = card.chosen === hold.index, proposed = on && card.chosen_by === "proposed";
      const take = h("button", { type: "button", role: "radio", "aria-checked": String(on && !proposed), "data-at": `hold ${hold.index}`, class: on && !proposed ? "main on" : "main",
        disabled: !may(), onclick: () => choose(hold) }, on && !proposed ? "✓ Chosen" : proposed ? "Choose this (proposed)" : "Choose this");
      const name = h("h4", {}, `${hold.index + 1}  ${hold.name}`, h("small", {}, ` ${hold.angles}`));
      const closer = () => { state.large[one.number] = hold.index; changed(); };
      if (hold.index !== large) return h("article", { class: on ? "hold small chosen" : "hold small" },
        h("img", { src: source.holdPicture(card.shape, hold, "quarter"), alt: `${one.number}, hold ${hold.index + 1}`, width: 84, height: 84, class: "pick", onclick: closer }), name, h("p", { class: "why" }, hold.why),
        h("div", { class: "row" }, button("Look closer", closer, { "data-at": `large ${hold.index}`, "aria-label": `Look closer at hold ${hold.index + 1}` }), take));
      return h("article", { class: on ? "hold chosen" : "hold" },
        h("div", { class: "three" }, [["front", "front"], ["quarter", "three-quarter"], ["behind", "from behind"]].map(([view, name]) =>
          h("img", { src: source.holdPicture(card.shape, hold, view), alt: `${one.number}, hold ${hold.index + 1}, ${name}`, width: 120, height: 120 }))),
        name, h("p", { class: "why" }, hold.why),
        h("ul", { class: "facts" }, hold.figures.map((figure) => h("li", { class: figure.verdict }, `${SIGN[figure.verdict]} ${figure.words}`))),
        h("div", { class: "row" },
          take,
          (source.live || on) && button("Turn it in 3D", () => showHold(card.shape, hold, one), { "data-at": `turn ${hold.index}`, "aria-label": `Turn hold ${hold.index + 1} in 3D` })),
        fold(`tips ${one.number} ${hold.index}`, `Where it touches (${hold.tips.length})`, h("ol", { class: "tips" }, hold.tips.map((tip, i) => h("li", {}, `${tip.words.replace(/^tip \d+: /, "")} `,
          (source.live || on) && button("Close-up", () => showHold(card.shape, hold, one, i), { "data-at": `near ${hold.index} ${i}`, "aria-label": `Close-up of tip ${i + 1} of hold ${hold.index + 1}` }))))));
    })),
    card.refusals.length > 0 && fold(`refusals ${one.number}`, `Angles without a hold (${card.refusals.length})`, refused(card)));
}

function words(one) {
  const said = one.agreements, unsaid = `words ${one.number}`, note = () => textOf(unsaid);
  const topic = () => document.querySelector('[data-at="topic"]')?.value || "place";
  const act = (what) => async () => {
    if (what === "note" && !note().trim()) { say("Write what you see on it first"); document.querySelector('[data-at="words"]')?.focus(); return; }
    if (what === "refuse" && !note().trim()) { say("Refuse with words: say what is wrong and what would do"); document.querySelector('[data-at="words"]')?.focus(); return; }
    const taken = await decide({ what, object: one.number, topic: topic(), words: note() }, [one.number]);
    if (taken) { sent(unsaid); changed(); }
  };
  return h("section", { id: "of-words" }, h("h3", {}, "What people say"),
    said.length > 0 && h("ul", { class: "said" }, said.map((a) => h("li", { class: `${a.stands ? "stands" : "lapsed"}${a.refused ? " refused" : ""}` }, `${!a.stands ? "–" : a.refused ? "✕" : "✓"} ${a.person} ${a.refused ? "refuses" : "agreed to"} its ${a.what}, ${a.time.slice(0, 10)}`,
      a.note && `: ${a.note}`, !a.stands && " (no longer: it changed since, or the word was taken back)",
      a.stands && may() && a.person.split(" (")[0] === state.me.person.trim() && button("Take back", () => decide({ what: "take-back-word", object: one.number, topic: a.what }, [one.number]), { "data-at": `word ${a.what}`, "aria-label": `Take back your word on its ${a.what}` })))),
    one.questions.length > 0 && h("ul", { class: "said" }, one.questions.map((q) => h("li", {}, `? ${q.person} asks ${q.of} about its ${q.what}${q.note ? `: ${q.note}` : ""}`))),
    may() && h("div", { class: "say" },
      h("label", {}, "about its ", h("select", { "data-at": "topic", onchange: (event) => { state.topic = event.target.value; } }, state.scene.agreements.map(([what, whose]) => h("option", { value: what, selected: what === state.topic }, `${what} (${whose})`)))),
      h("textarea", { "data-at": "words", ...unsent(unsaid), rows: 2, "aria-label": "In words", placeholder: "in words" }),
      h("div", { class: "row" }, button("Agree", act("agree"), { class: "main" }), button("Refuse", act("refuse")), button("Ask", act("ask")), button("Note its condition", act("note"), { "data-at": "note" }))));
}

function book(one, card) {
  return h("section", { id: "of-book" }, fold(`book ${one.number}`, `Logbook (${card.book.length})`,
    h("ul", { class: "book" }, [...card.book].reverse().map((line) => h("li", { class: line.stands ? "" : "lapsed" },
      `${line.time.slice(0, 16).replace("T", " ")} ${line.person} ${line.sentence}${line.reason ? `: ${line.reason}` : ""}${line.stands ? "" : " (taken back)"}`,
      card.last === line.seq && may() && button("Take back", () => decide({ what: "undo", object: one.number, entries: [line.seq], words: "taken back on the page" }, [one.number]), { "data-at": `back ${line.seq}` }))))));
}
