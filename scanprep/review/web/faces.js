// A face as a small picture: where things stand in some state of the case, for states that are looked at side by side.

import { h, s } from "./dom.js";
import { ringsAt } from "./elevation.js";
import { source } from "./source.js";
import { state } from "./store.js";

export const onRecord = (one) => (one.panel ? { panel: one.panel, face: one.face, from_left_mm: one.from_left_mm, y_mm: one.y_mm } : null);
export const onFace = (at, panel, face) => at && at.panel === panel.name && at.face === face;

// The part of a face on which things stand in any of the states, so that all show it alike and as large as may be.
export function frameOf(panel, face, places) {
  const points = state.scene.objects.flatMap((one) => places.map((place) => place(one)).filter((at) => onFace(at, panel, face)).map((at) => ringsAt(one, at))).flat(2);
  const xs = points.map(([x]) => x), ys = points.map(([, y]) => panel.height_mm - y), rim = 40;
  const least = (values) => values.reduce((a, b) => Math.min(a, b), Infinity) - rim, most = (values) => values.reduce((a, b) => Math.max(a, b), -Infinity) + rim;
  return points.length ? [least(xs), least(ys), most(xs) - least(xs), most(ys) - least(ys)].map((v) => v.toFixed(0)).join(" ") : `0 0 ${panel.width_mm} ${panel.height_mm}`;
}

// place: where an object stands in this state; moved: whether it is drawn with a thick outline.
export function facePicture(panel, face, place, moved, frame, words) {
  return h("figure", {}, s("svg", { viewBox: frame, class: "small", role: "img", "aria-label": words }, s("rect", { class: "sheet", width: panel.width_mm, height: panel.height_mm }),
    state.scene.objects.filter((one) => onFace(place(one), panel, face)).map((one) => drawn(one, place(one), panel, moved(one)))), h("figcaption", {}, words));
}

function drawn(one, at, panel, moved) {
  const { window_mm: [left, bottom, right, top], attach_mm: [ax, ay] } = state.shapes[one.shape];
  return [s("image", { href: source.picture(one.shape), x: at.from_left_mm - ax + left, y: panel.height_mm - at.y_mm + ay - top, width: right - left, height: top - bottom, opacity: moved ? 1 : 0.6 }),
    s("path", { class: moved ? "new" : "old", fill: "none", d: ringsAt(one, at).map((ring) => `M${ring.map(([x, y]) => `${x.toFixed(0)} ${(panel.height_mm - y).toFixed(0)}`).join("L")}Z`).join("") })];
}
