// Layouts proposed for what has no place yet, as pictures with plain reasons.

import { button, h, s } from "./dom.js";
import { ringsAt } from "./elevation.js";
import { askNudge, say } from "./moves.js";
import { source } from "./source.js";
import { objectOf, set, standOf, state } from "./store.js";

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
      h("div", { class: "three" }, faces(one)),
      h("p", {}, `${Object.keys(one.stands).length} objects placed, ${one.stops} stop${one.stops === 1 ? "" : "s"} in the whole case`, one.arrangement.left_out.length > 0 && `; left out: ${one.arrangement.left_out.join("; ")}`),
      h("p", { class: "why" }, reasons(one)),
      button("Look at it", () => set({ draft: Object.fromEntries(Object.entries(one.stands).map(([number, at]) => [number, { object: number, ...at }])), trial: [] }), { class: "main", "data-at": `layout ${i}` })))];
}

// Each part runs from 0 (good) to 1 (poor): the best two and the worst are said.
function reasons(one) {
  const parts = one.arrangement.parts.map(([name, value]) => [REASONS[name.replace(/[-_]/g, " ")] || name.replace(/[-_]/g, " "), value]).sort((a, b) => a[1] - b[1]);
  if (!parts.length) return "";
  return `best at: ${parts.slice(0, 2).map((p) => p[0]).join(", ")}; least: ${parts[parts.length - 1][0]}`;
}

function faces(one) {
  return state.scene.panels.flatMap((panel) => ["A", "B"].map((face) => {
    const at = (thing) => one.stands[thing.number] || standOf(thing);
    const here = state.scene.objects.filter((thing) => at(thing) && at(thing).panel === panel.name && at(thing).face === face);
    if (!here.length) return null;
    return h("figure", {}, s("svg", { viewBox: `0 0 ${panel.width_mm} ${panel.height_mm}`, class: "small", role: "img", "aria-label": `${panel.name} ${face}` }, s("rect", { class: "sheet", width: panel.width_mm, height: panel.height_mm }),
      here.map((thing) => s("path", { class: one.stands[thing.number] ? "new" : "old", fill: state.shapes[objectOf(thing.number).shape].colour,
        d: ringsAt(thing, at(thing)).map((ring) => `M${ring.map(([x, y]) => `${x.toFixed(0)} ${(panel.height_mm - y).toFixed(0)}`).join("L")}Z`).join("") }))),
    h("figcaption", {}, `${panel.name} ${face}`));
  }));
}
