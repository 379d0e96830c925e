// One face as its own viewer sees it, in SVG: the surface on which things are moved.
// Inside, x and y are face coordinates in mm, y up; the drawing's y runs down, so a height y is drawn at H - y.

import { s, show } from "./dom.js";
import { nearest } from "./gaps.js";
import { short, written } from "./measures.js";
import { changed, may, objectOf, panelOf, set, standOf, state } from "./store.js";
import { dropStep, moveBy, moveTo, select } from "./moves.js";

const place = () => document.getElementById("face");
let view = null; // {x, y (middle, drawing), scale (px a mm), of}
let drawing = null, grabbed = null, guides = [];

const MARK = { stop: "!", look: "?", unmeasured: "", ok: "" };

export function fit(whole = false) { view = null; state.whole = whole; changed(); }
export function zoom(by) { if (view) { view.scale *= by; changed(); } }

// What is looked at: the objects with some room round them, or the whole face down to the floor.
function framed(panel, box) {
  const here = state.scene.objects.filter((one) => onFace(one, panel.name, state.face));
  let left = 0, right = panel.width_mm, low = -panel.stands_at_mm, high = panel.height_mm;
  if (here.length && !state.whole) {
    const ends = here.map((one) => { const at = standOf(one), w = windowOf(one);
      return [at.from_left_mm + w[0], at.from_left_mm + w[2], at.y_mm + w[1], at.y_mm + w[3]]; });
    left = Math.min(...ends.map((e) => e[0])) - 60; right = Math.max(...ends.map((e) => e[1])) + 60;
    low = Math.min(...ends.map((e) => e[2])) - 60; high = Math.max(...ends.map((e) => e[3])) + 60;
  }
  const wide = Math.max(right - left, 200) + (state.whole ? 260 : 0), tall = Math.max(high - low, 200);
  return { x: (left + right) / 2, y: panel.height_mm - (low + high) / 2,
    scale: Math.min(box.width / wide, box.height / tall) * 0.97 };
}

const onFace = (one, panel, face) => { const at = standOf(one); return at && at.panel === panel && at.face === face; };

// The picture's window about the hole, which is what moves.
function windowOf(one) {
  const shape = state.shapes[one.shape];
  const [left, bottom, right, top] = shape.window_mm, [ax, ay] = shape.attach_mm;
  return [left - ax, bottom - ay, right - ax, top - ay];
}

export function ringsAt(one, at) {
  const shape = state.shapes[one.shape], [ax, ay] = shape.attach_mm;
  return shape.rings_mm.map((ring) => ring.map(([x, y]) => [at.from_left_mm + x - ax, at.y_mm + y - ay]));
}

const path = (rings) => rings.map((ring) => `M${ring.map(([x, y]) => `${x.toFixed(1)} ${(-y).toFixed(1)}`).join("L")}Z`).join("");

function verdicts() {
  const worst = {}, rank = { stop: 3, look: 2, unmeasured: 1, ok: 0 };
  const take = (group) => { for (const number of group.objects) {
    if (rank[group.verdict] > rank[worst[number] || "ok"]) worst[number] = group.verdict; } };
  const moved = new Set(Object.keys(state.draft));
  // what was said of a place that is being left no longer holds
  state.scene.groups.filter((g) => !(g.cause === "place" && g.objects.some((n) => moved.has(n)))).forEach(take);
  (state.trial || []).forEach(take);
  return worst;
}

export function drawFace() {
  const { scene } = state, panel = scene && panelOf(state.panel), box = place().getBoundingClientRect();
  if (!panel || !box.width) return;
  const of = `${state.panel} ${state.face} ${state.whole}`;
  if (!view || view.of !== of) view = { ...framed(panel, box), of };
  else if (view.wide !== box.width || view.tall !== box.height) {
    // the upper left corner stays where it is, so that nothing moves under the hand when a bar opens below
    view.x += (box.width - view.wide) / 2 / view.scale;
    view.y += (box.height - view.tall) / 2 / view.scale;
  }
  Object.assign(view, { wide: box.width, tall: box.height });
  const px = 1 / view.scale, H = panel.height_mm, W = panel.width_mm; // mm a pixel
  const here = scene.objects.filter((one) => onFace(one, panel.name, state.face))
    .sort((a, b) => standOf(b).y_mm - standOf(a).y_mm || standOf(a).from_left_mm - standOf(b).from_left_mm);
  const worst = verdicts();
  const parts = [
    s("rect", { class: "sheet", x: 0, y: 0, width: W, height: H }),
    heights(panel, px), state.options.other && otherFace(panel, px), state.options.groups && groups(here, H, px),
    voids(panel, px), stoodBefore(panel, px),
    here.map((one) => figure(one, H, px, worst[one.number] || "ok", numbered(one, here, px))),
    state.options.gaps && gapLines(here, H, px), nudgeArrows(H, px), guideLines(W, H, px),
    !here.length && empty(panel, px),
  ];
  const shown = [view.x - box.width * px / 2, view.y - box.height * px / 2, box.width * px, box.height * px];
  const title = `${panel.name}, face ${state.face}, as its own viewer sees it: ${here.length} object${here.length === 1 ? "" : "s"}`;
  drawing = s("svg", { viewBox: shown.map((v) => v.toFixed(2)).join(" "), role: "group", "aria-label": title,
    onpointerdown: ground, onwheel: wheel }, parts.flat(3).filter(Boolean), ruler(shown, px));
  show(place(), drawing);
}

// Whether a number fits under an object without lying on another one.
function numbered(one, here, px) {
  const box = (thing) => { const at = standOf(thing), w = windowOf(thing); return [at.from_left_mm + w[0], at.y_mm + w[1], at.from_left_mm + w[2], at.y_mm + w[3]]; };
  const [left, bottom, right] = box(one), middle = (left + right) / 2, half = one.number.length * 4 * px;
  return here.every((thing) => { if (thing === one) return true;
    const [l, b, r, t] = box(thing);
    return l > middle + half || r < middle - half || b > bottom || t < bottom - 15 * px; });
}

function figure(one, H, px, verdict, roomy) {
  const shape = state.shapes[one.shape], at = standOf(one), w = windowOf(one), moved = !!state.draft[one.number];
  const selected = state.selected === one.number, words = [one.number, one.title, MARK[verdict] ? `finding: ${verdict}` : "",
    agreed(one) ? "place agreed" : "", one.locked ? "locked" : "", moved ? "moved, not saved" : ""].filter(Boolean).join(", ");
  const outline = path(shape.rings_mm), [ax, ay] = shape.attach_mm, [left, bottom, right, top] = w;
  // marks never outgrow a small object; a number that would lie on another is left to the title and to choosing it
  const wide = Math.max(right - left, top - bottom) / px, badge = Math.max(4, Math.min(9, wide * 0.22)) * px;
  const letters = selected || roomy ? 12 : Math.min(12, wide * 0.3);
  const g = s("g", { class: `thing ${verdict}${selected ? " selected" : ""}${moved ? " moved" : ""}${one.locked || one.hole_state === "drilled" ? " fixed" : ""}`,
    transform: `translate(${at.from_left_mm} ${H - at.y_mm})`, tabindex: 0, role: "button", "aria-pressed": selected ? "true" : "false", "aria-label": words,
    "data-at": `thing ${one.number}`, "data-number": one.number, onpointerdown: (event) => grab(event, one),
    onfocus: () => { if (state.selected !== one.number) select(one.number); }, onkeydown: (event) => keys(event, one) },
  s("title", {}, words),
  s("g", { transform: `translate(${-ax} ${ay})` },
    s("path", { class: "body", d: outline, fill: shape.colour, "fill-rule": "evenodd" }),
    state.options.pictures && s("image", { href: pictureOf(one.shape), x: shape.window_mm[0], y: -shape.window_mm[3],
      width: shape.window_mm[2] - shape.window_mm[0], height: shape.window_mm[3] - shape.window_mm[1], preserveAspectRatio: "none" }),
    s("path", { class: "edge", d: outline, "fill-rule": "evenodd" })),
  state.options.holes && [s("circle", { class: "hole", r: Math.max(shape.post_mm / 2, 2 * px) }),
    s("path", { class: "cross", d: `M${-5 * px} 0H${5 * px}M0 ${-5 * px}V${5 * px}` })],
  letters >= 7 && s("text", { class: "number", x: (left + right) / 2, y: -bottom + (letters + 2) * px, "font-size": letters * px, "stroke-width": 3 * px }, one.number),
  MARK[verdict] && s("g", { class: "badge", transform: `translate(${right} ${-top})` },
    verdict === "stop" ? s("path", { d: `M0 ${-badge}L${badge} ${badge * 0.7}H${-badge}Z` }) : s("circle", { r: badge * 0.85 }),
    s("text", { y: badge * (verdict === "stop" ? 0.5 : 0.35), "font-size": badge * 1.2 }, MARK[verdict])),
  agreed(one) && s("text", { class: "tick", x: left, y: -top + 4 * px, "font-size": 14 * px, "stroke-width": 3 * px }, "✓"),
  (one.locked || one.hole_state === "drilled") && s("text", { class: "lock", x: left, y: -bottom, "font-size": 11 * px, "stroke-width": 3 * px },
    one.hole_state === "drilled" ? "drilled" : "locked"));
  return g;
}

let pictureOf = () => "";
export function picturesFrom(given) { pictureOf = given; }

const agreed = (one) => one.agreements.some((a) => a.what === "place" && a.stands);

function otherFace(panel, px) {
  const face = state.face === "A" ? "B" : "A", W = panel.width_mm, H = panel.height_mm;
  return state.scene.objects.filter((one) => onFace(one, panel.name, face)).map((one) => {
    const at = standOf(one), shape = state.shapes[one.shape], [ax, ay] = shape.attach_mm;
    const turned = shape.rings_mm.map((ring) => ring.map(([x, y]) => [-(x - ax), y - ay]));
    return s("g", { class: "other", transform: `translate(${W - at.from_left_mm} ${H - at.y_mm})` },
      s("title", {}, `${one.number} on face ${face}, seen through the sheet`),
      s("path", { d: path(turned), "fill-rule": "evenodd", "stroke-dasharray": `${5 * px} ${4 * px}` }),
      s("circle", { r: Math.max(shape.post_mm / 2, 2 * px), "stroke-dasharray": `${2 * px} ${2 * px}` }),
      s("text", { "font-size": 10 * px, y: -4 * px }, `${one.number} ${face}`));
  });
}

function voids(panel, px) {
  return state.scene.void_holes.filter((hole) => hole.panel === panel.name).map((hole) => {
    const own = hole.face === state.face, x = own ? hole.from_left_mm : panel.width_mm - hole.from_left_mm, r = 5 * px;
    return s("g", { class: `void${own ? "" : " behind"}`, transform: `translate(${x} ${panel.height_mm - hole.y_mm})` },
      s("title", {}, `${hole.number}, given up: ${hole.why}`), s("circle", { r }),
      s("path", { d: `M${-r} ${-r}L${r} ${r}M${-r} ${r}L${r} ${-r}` }),
      s("text", { x: r * 1.4, y: r, "font-size": 10 * px }, `${hole.number} void`));
  });
}

function stoodBefore(panel, px) {
  return (state.compare?.moved || []).filter((one) => one.before && one.before.panel === panel.name && one.before.face === state.face).map((one) => {
    const thing = objectOf(one.number), now = thing && standOf(thing), H = panel.height_mm, a = one.before;
    const same = now && now.panel === a.panel && now.face === a.face;
    return thing && s("g", { class: "before" }, s("title", {}, one.sentence),
      s("path", { d: path(ringsAt(thing, a)), transform: `translate(0 ${H})`, "stroke-dasharray": `${5 * px} ${4 * px}` }),
      same && s("path", { d: `M${a.from_left_mm} ${H - a.y_mm}L${now.from_left_mm} ${H - now.y_mm}` }),
      s("text", { x: a.from_left_mm, y: H - a.y_mm - 4 * px, "font-size": 11 * px }, `${one.number} ${state.compare.key.startsWith("try ") ? "in the try" : "before"}`));
  });
}

function heights(panel, px) {
  const W = panel.width_mm, H = panel.height_mm, floor = H + panel.stands_at_mm, [low, high] = state.scene.band_mm;
  const parts = [];
  if (state.options.eyes) {
    parts.push(s("rect", { class: "band", x: 0, y: floor - high, width: W, height: high - low }),
      s("text", { class: "note", x: W + 4 * px, y: floor - low - 4 * px, "font-size": 11 * px }, `comfortable from ${short(low, state.units)}`),
      s("text", { class: "note", x: W + 4 * px, y: floor - high + 12 * px, "font-size": 11 * px }, `to ${short(high, state.units)}`));
    for (const eye of state.scene.eye_heights_mm) parts.push(
      s("path", { class: "eye", d: `M${-30 * px} ${floor - eye}H${W + 30 * px}`, "stroke-dasharray": `${8 * px} ${5 * px}` }),
      s("text", { class: "note", x: W + 4 * px, y: floor - eye - 4 * px, "font-size": 11 * px }, `eye ${written(eye, state.units, 0)}`));
  }
  parts.push(s("path", { class: "floor", d: `M${-60 * px} ${floor}H${W + 60 * px}` }),
    s("text", { class: "note", x: W + 4 * px, y: floor - 4 * px, "font-size": 11 * px }, "floor"));
  return parts;
}

function groups(here, H, px) {
  const names = [...new Set(here.map((one) => one.group).filter(Boolean))];
  return names.map((name) => {
    const ends = here.filter((one) => one.group === name).map((one) => { const at = standOf(one), w = windowOf(one);
      return [at.from_left_mm + w[0], at.y_mm + w[1], at.from_left_mm + w[2], at.y_mm + w[3]]; });
    const m = 8 * px, left = Math.min(...ends.map((e) => e[0])) - m, right = Math.max(...ends.map((e) => e[2])) + m;
    const low = Math.min(...ends.map((e) => e[1])) - m - 14 * px, high = Math.max(...ends.map((e) => e[3])) + m;
    return s("g", { class: "group" }, s("rect", { x: left, y: H - high, width: right - left, height: high - low, rx: 8 * px, "stroke-dasharray": `${2 * px} ${4 * px}` }),
      s("text", { x: left + 6 * px, y: H - high - 4 * px, "font-size": 12 * px }, name));
  });
}

function gapLines(here, H, px) {
  const one = here.find((thing) => thing.number === state.selected);
  if (!one) return null;
  const mine = ringsAt(one, standOf(one));
  return here.filter((thing) => thing !== one).map((thing) => nearest(mine, ringsAt(thing, standOf(thing)), thing.number))
    .sort((a, b) => a.mm - b.mm).slice(0, 3).filter((gap) => gap.mm < 400).map((gap) => {
      const [[x1, y1], [x2, y2]] = gap.ends, upright = Math.abs(x2 - x1) < Math.abs(y2 - y1); // its length then stands beside it, not on the number under an object
      return s("g", { class: "gap" }, s("path", { d: `M${x1} ${H - y1}L${x2} ${H - y2}` }),
        s("text", { x: (x1 + x2) / 2 + (upright ? 42 * px : 0), y: H - (y1 + y2) / 2 - (upright ? -4 : 3) * px, "font-size": 11 * px, "stroke-width": 3 * px }, gap.mm > 0 ? short(gap.mm, state.units) : "overlap"));
    });
}

function nudgeArrows(H, px) {
  if (!state.nudge) return null;
  return state.nudge.moves.filter((move) => move.after.panel === state.panel && move.after.face === state.face).map((move) => {
    const a = move.before, b = move.after;
    return s("g", { class: "proposed" }, s("path", { d: `M${a.from_left_mm} ${H - a.y_mm}L${b.from_left_mm} ${H - b.y_mm}` }),
      s("circle", { cx: b.from_left_mm, cy: H - b.y_mm, r: 6 * px }),
      s("path", { d: path(ringsAt(objectOf(move.number), b)), transform: `translate(0 ${H})`, "stroke-dasharray": `${4 * px} ${3 * px}` }));
  });
}

const guideLines = (W, H, px) => guides.map(([x, y]) => s("path", { class: "guide", "stroke-dasharray": `${3 * px} ${3 * px}`,
  d: x !== null ? `M${x} 0V${H}` : `M0 ${H - y}H${W}` }));

function empty(panel, px) {
  return s("text", { class: "nothing", x: view.x, y: view.y, "font-size": 16 * px },
    `Nothing stands on ${panel.name}, face ${state.face}, yet.`);
}

function ruler([left, top, wide, tall], px) {
  const steps = state.units === "in" ? [25.4, 127, 254, 508] : [10, 50, 100, 200, 500];
  const mm = [...steps].reverse().find((step) => step < wide / 3) || steps[0];
  const x = left + 14 * px, y = top + tall - 14 * px;
  return s("g", { class: "ruler" }, s("path", { d: `M${x} ${y - 5 * px}V${y}H${x + mm}V${y - 5 * px}` }),
    s("text", { x: x + mm / 2, y: y - 5 * px, "font-size": 11 * px, "stroke-width": 3 * px }, written(mm, state.units, 0)));
}

// Moving with the hand

function at(event) {
  const box = drawing.getBoundingClientRect(), panel = panelOf(state.panel);
  return [view.x + (event.clientX - box.left - box.width / 2) / view.scale,
    panel.height_mm - (view.y + (event.clientY - box.top - box.height / 2) / view.scale)];
}

function follow(start, move, end) {
  const finish = (event) => { removeEventListener("pointermove", move); removeEventListener("pointerup", finish);
    removeEventListener("pointercancel", finish); end(event); };
  addEventListener("pointermove", move);
  addEventListener("pointerup", finish);
  addEventListener("pointercancel", finish);
}

function grab(event, one) {
  if (event.button) return;
  event.stopPropagation();
  event.preventDefault();
  select(one.number);
  place().querySelector(`[data-number="${CSS.escape(one.number)}"]`)?.focus({ preventScroll: true });
  if (!may() || one.locked || one.hole_state === "drilled") return;
  const stand = standOf(one), from = at(event), off = [stand.from_left_mm - from[0], stand.y_mm - from[1]];
  grabbed = { moved: false, x: event.clientX, y: event.clientY };
  follow(event, (now) => {
    if (!grabbed.moved && Math.hypot(now.clientX - grabbed.x, now.clientY - grabbed.y) < 4) return;
    const first = !grabbed.moved;
    grabbed.moved = true;
    const [x, y] = at(now);
    moveTo(one, { ...stand, ...snapped(one, x + off[0], y + off[1], now.altKey) }, first);
  }, () => { guides = []; grabbed = null; changed(); });
}

// To whole mm (1/16 in), and to the lines on which the others hang, where they are near.
function snapped(one, x, y, off) {
  guides = [];
  const fine = state.units === "in" ? 25.4 / 16 : 1;
  if (off || !state.options.snap) return { from_left_mm: Math.round(x * 10) / 10, y_mm: Math.round(y * 10) / 10 };
  const near = 6 / view.scale, panel = panelOf(state.panel);
  const others = state.scene.objects.filter((thing) => thing !== one && onFace(thing, state.panel, state.face)).map(standOf);
  const best = (value, lines) => lines.map((line) => [Math.abs(line - value), line]).sort((a, b) => a[0] - b[0])[0];
  const bx = best(x, [panel.width_mm / 2, ...others.map((o) => o.from_left_mm)]), by = best(y, others.map((o) => o.y_mm));
  const sx = bx && bx[0] < near ? bx[1] : Math.round(x / fine) * fine, sy = by && by[0] < near ? by[1] : Math.round(y / fine) * fine;
  if (bx && sx === bx[1]) guides.push([sx, null]);
  if (by && sy === by[1]) guides.push([null, sy]);
  return { from_left_mm: sx, y_mm: sy };
}

function keys(event, one) {
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  const way = ways[event.key];
  if (way && !event.ctrlKey && !event.metaKey) {
    event.preventDefault();
    const step = (event.shiftKey ? 10 : 1) * (state.units === "in" ? 25.4 / 16 : 1);
    moveBy(one, way[0] * step, way[1] * step);
  } else if (event.key === "Escape") dropStep();
}

function ground(event) {
  if (event.button) return;
  const from = { x: view.x, y: view.y, cx: event.clientX, cy: event.clientY };
  follow(event, (now) => {
    view.x = from.x - (now.clientX - from.cx) / view.scale;
    view.y = from.y - (now.clientY - from.cy) / view.scale;
    changed();
  }, () => {});
}

function wheel(event) {
  event.preventDefault();
  const box = drawing.getBoundingClientRect(), by = Math.exp(-event.deltaY / 500);
  const dx = (event.clientX - box.left - box.width / 2) / view.scale, dy = (event.clientY - box.top - box.height / 2) / view.scale;
  view.x += dx * (1 - 1 / by);
  view.y += dy * (1 - 1 / by);
  view.scale *= by;
  changed();
}

export function goTo(number) {
  const stand = standOf(objectOf(number));
  if (!stand) return;
  set({ panel: stand.panel, face: stand.face });
  const box = place().getBoundingClientRect(), panel = panelOf(stand.panel), of = `${stand.panel} ${stand.face} ${state.whole}`;
  if (!view || view.of !== of) view = { ...framed(panel, box), of, wide: box.width, tall: box.height };
  const x = stand.from_left_mm, y = panel.height_mm - stand.y_mm;
  if (Math.abs(x - view.x) > box.width / view.scale * 0.4 || Math.abs(y - view.y) > box.height / view.scale * 0.4) Object.assign(view, { x, y });
}
