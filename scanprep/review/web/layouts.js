// Layouts proposed for what has no place yet, as pictures with plain reasons.

import { button, h } from "./dom.js";
import { facePicture, frameOf, onFace, onRecord } from "./faces.js";
import { askNudge, say } from "./moves.js";
import { source } from "./source.js";
import { set, standOf, state } from "./store.js";

const REASONS = { band: "things stand at a comfortable height", groups: "groups stay together", "heavy low": "heavy things hang low", "even gaps": "gaps are even", order: "the order of reading is kept", balance: "left and right balance" };

export async function askLayouts() {
  set({ busy: "trying layouts…", tab: "layouts" });
  try { set({ proposals: await source.proposals() }); } catch (problem) { say(problem.message); } finally { set({ busy: "" }); }
}

export function drawLayouts() {
  const without = state.scene.objects.filter((one) => !standOf(one)).length;
  if (!state.proposals) return [h("p", {}, without ? `${without} objects have no place yet.` : "Every object has its place. The nudge clears what is in the way."),
    without > 0 ? button("Propose layouts", askLayouts, { class: "main" }) : state.link !== "file" && button("Nudge clear", askNudge, { "data-at": "nudge of layouts", title: "find the least moves that clear every stop" })];
  return [h("p", { class: "note" }, "What stands stays. Take one to look at it; nothing is saved before you confirm."),
    state.proposals.map((one, i) => h("article", { class: "hold" }, h("h4", {}, `${i + 1}  ${one.arrangement.name}`),
      h("div", { class: "three pair" }, faces(one)),
      h("p", {}, `${Object.keys(one.stands).length} objects placed, ${one.stops} stop${one.stops === 1 ? "" : "s"} in the whole case`, one.arrangement.left_out.length > 0 && `; left out: ${one.arrangement.left_out.join("; ")}`),
      h("p", { class: "why" }, reasons(one)),
      button("Look at it", () => look(one), { class: "main", "data-at": `layout ${i}` })))];
}

// On the face where its first new object would stand.
function look(one) {
  const [first] = Object.values(one.stands), draft = Object.fromEntries(Object.entries(one.stands).map(([number, at]) => [number, { object: number, ...at }]));
  set({ draft, trial: [], ...(first && { panel: first.panel, face: first.face }) });
}

// Each part runs from 0 (good) to 1 (poor): what this one is better and worse at than the others, where it is plain.
const PLAIN = 0.02;

function reasons(one) {
  const others = state.proposals.filter((other) => other !== one).map((other) => Object.fromEntries(other.arrangement.parts));
  const ahead = one.arrangement.parts.map(([name, value]) => [REASONS[name.replace(/[-_]/g, " ")] || name.replace(/[-_]/g, " "),
    others.reduce((sum, parts) => sum + (parts[name] ?? value), 0) / Math.max(others.length, 1) - value]).sort((a, b) => b[1] - a[1]);
  const better = ahead.filter(([, by]) => by > PLAIN).slice(0, 2), worse = ahead.filter(([, by]) => by < -PLAIN).slice(-2).reverse();
  if (!others.length) return "the only one that was found";
  if (!better.length && !worse.length) return "as good as the others by all that is judged: look at the pictures";
  return [better.length && `better than the others: ${better.map((p) => p[0]).join(", ")}`, worse.length && `less than in the others: ${worse.map((p) => p[0]).join(", ")}`].filter(Boolean).join("; ");
}

const placeIn = (one) => (thing) => one.stands[thing.number] || onRecord(thing);

// The faces on which something new would stand.
function faces(one) {
  const isNew = (thing) => thing.number in one.stands;
  return state.scene.panels.flatMap((panel) => ["A", "B"].filter((face) => Object.values(one.stands).some((at) => onFace(at, panel, face)))
    .map((face) => facePicture(panel, face, placeIn(one), isNew, frameOf(panel, face, state.proposals.map(placeIn)), `${panel.name} ${face}`)));
}
