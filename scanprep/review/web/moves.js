// Moves on this page before they are put on record, and putting them there.

import { source } from "./source.js";
import { changed, objectOf, set, standOf, state } from "./store.js";

export let say = () => {};
export function sayWith(given) { say = given; }

export function select(number) {
  if (state.selected === number) return;
  set({ selected: number });
  if (number) loadCard(number);
}

const asked = {};
let asking = null;

export async function loadCard(number) {
  // what is shown stays until the newer one is there, so that nothing flickers under the hand
  const seq = `${state.scene.seq} ${state.units}`;
  if (state.opening || (asked[number] === seq && (state.cards[number] || asking === number))) return;
  asked[number] = seq;
  asking = number;
  try {
    const card = await source.card(number);
    if (asked[number] !== seq) return; // a newer one is on its way
    state.cards[number] = card; // only now: the cards may have been put away while it came
    changed();
  } catch (problem) {
    delete asked[number];
    if (problem.status) say(problem.message); // a lost connection is said in the bar already
  } finally { if (asking === number) asking = null; }
}

function step() { state.steps.push({ ...state.draft }); if (state.steps.length > 200) state.steps.shift(); }

export function moveTo(one, stand, newStep = true) {
  if (newStep) step();
  state.draft = { ...state.draft, [one.number]: { object: one.number, panel: stand.panel, face: stand.face, from_left_mm: stand.from_left_mm, y_mm: stand.y_mm } };
  state.nudge = null;
  changed();
  look();
}

let pressed = 0;
export function moveBy(one, dx, dy) {
  const at = standOf(one), now = performance.now();
  if (!at || state.seat !== "decides" || one.locked || one.hole_state === "drilled") {
    say(at ? `${one.number} is ${one.locked ? "locked" : "drilled"}: it stays` : `${one.number} has no place yet`);
    return;
  }
  moveTo(one, { ...at, from_left_mm: Math.round((at.from_left_mm + dx) * 1000) / 1000, y_mm: Math.round((at.y_mm + dy) * 1000) / 1000 }, now - pressed > 800);
  pressed = now;
}

async function look() {
  const moves = Object.values(state.draft);
  if (!moves.length) { set({ trial: null }); return; }
  const found = await source.drag(moves);
  if (Object.keys(state.draft).length && found) set({ trial: found });
}

export function dropStep() {
  if (!state.steps.length) return false;
  set({ draft: state.steps.pop(), nudge: null });
  look();
  return true;
}

export function dropAll() { set({ draft: {}, steps: [], trial: null, nudge: null }); say("the moves of this page were dropped; the record was not touched"); }

const base = (numbers) => Object.fromEntries(numbers.map((n) => [n, n === "" ? state.scene.base : (objectOf(n)?.base ?? 0)]));

// What is being said to the record, so that Undo takes back that and not the decision before: the news of it may reach
// this page before its answer does.
let saying = Promise.resolve();

// Say something to the record; only what it has acknowledged is shown as said.
export function decide(said, numbers) {
  const answer = decideNow(said, numbers);
  saying = answer.catch(() => null);
  return answer;
}

async function decideNow(said, numbers) {
  if (!state.me.person.trim()) {
    document.getElementById("person")?.focus();
    say("Write your name first, at the top right: the record keeps who decided");
    return null;
  }
  set({ busy: "saving…" });
  try {
    const taken = await source.decide({ by: state.me, base: base(numbers), ...said });
    if (taken.entries.length && said.what !== "undo") state.mine.push({ entries: taken.entries, numbers });
    say(taken.sentences.join("; "));
    return taken;
  } catch (problem) {
    say(problem.status ? problem.message : "not saved: the connection is lost. Nothing on this page is lost; try again when it is back");
    return null;
  } finally { set({ busy: "" }); }
}

export async function confirm(words = "") {
  const moves = Object.values(state.draft);
  if (!moves.length) return;
  const taken = await decide({ what: "place", moves, words }, moves.map((move) => move.object));
  if (taken) set({ draft: {}, steps: [], trial: null, nudge: null });
}

export async function askNudge() {
  set({ busy: "looking for the least moves…" });
  try {
    const found = await source.nudge(Object.values(state.draft));
    set({ nudge: found });
    say(found.moves.length ? `proposed: ${found.moves.map((m) => m.sentence).join("; ")}. Accept or keep it as it is` :
      found.reasons.length ? `no move clears this: ${found.reasons[0]}` : "nothing is in the way: no move is needed");
  } catch (problem) { say(problem.message); } finally { set({ busy: "" }); }
}

export function acceptNudge() {
  const moves = state.nudge?.moves || [];
  step();
  const draft = { ...state.draft };
  for (const move of moves) draft[move.number] = { object: move.number, ...move.after };
  set({ draft, nudge: null });
  look();
  say(`${moves.length} object${moves.length === 1 ? "" : "s"} moved as proposed; not saved yet`);
}

export async function undo() {
  await saying;
  if (dropStep()) { say("took the last move back"); return; }
  const last = state.mine[state.mine.length - 1];
  if (!last) { say("nothing to take back on this page"); return; }
  const taken = await decide({ what: "undo", entries: last.entries, words: "taken back on the page" }, last.numbers);
  if (taken) state.mine.pop();
}
