// All faces small, at the left: which one is looked at, how full each is, where stops are.

import { h, s, show } from "./dom.js";
import { set, standOf, state } from "./store.js";

export function drawStrip() {
  if (!state.scene) return;
  const stops = new Set(state.scene.groups.filter((g) => g.verdict === "stop").flatMap((g) => g.objects));
  show(document.getElementById("strip"), state.scene.panels.map((panel) => ["A", "B"].map((face) => {
    const here = state.scene.objects.filter((one) => { const at = standOf(one); return at && at.panel === panel.name && at.face === face; });
    const bad = here.filter((one) => stops.has(one.number)).length, chosen = state.panel === panel.name && state.face === face;
    const words = `${panel.name}, face ${face}: ${here.length || "no"} object${here.length === 1 ? "" : "s"}${bad ? `, ${bad} with a stop` : ""}`;
    return h("button", { type: "button", class: chosen ? "facelet chosen" : "facelet", "aria-pressed": String(chosen), "aria-label": words, title: words,
      "data-at": `face ${panel.name} ${face}`, onclick: () => set({ panel: panel.name, face }) },
    s("svg", { viewBox: `-10 -10 ${panel.width_mm + 20} ${panel.height_mm + 20}`, "aria-hidden": "true" },
      s("rect", { width: panel.width_mm, height: panel.height_mm }),
      here.map((one) => { const at = standOf(one), shape = state.shapes[one.shape], w = shape.window_mm;
        return s("rect", { class: stops.has(one.number) ? "bad" : "one", x: at.from_left_mm - shape.attach_mm[0] + w[0], y: panel.height_mm - at.y_mm + shape.attach_mm[1] - w[3],
          width: w[2] - w[0], height: w[3] - w[1], fill: shape.colour }); })),
    h("span", {}, `${panel.name} ${face}`), h("small", {}, here.length ? `${here.length}${bad ? ` · ${bad} !` : ""}` : "empty"));
  })), waiting());
}

function waiting() {
  const without = state.scene.objects.filter((one) => !standOf(one));
  return without.length ? h("p", { class: "note" }, `${without.length} without a place`) : null;
}
