// The whole case, or one hold, in space. A second view: everything can be done without it, and it says so where the
// browser has no WebGL. Axes: a panel's own frame (face A's x right, y up, z out), floor at y 0, mm.

import { button, h, show } from "./dom.js";
import { parts } from "./glb.js";
import { fit } from "./elevation.js";
import { say } from "./moves.js";
import { angleFields, anglesOf, askAngles, sayOf } from "./object.js";
import { matrix, paintedNow, recolour, touched } from "./skin.js";
import { source } from "./source.js";
import { changed, may, panelOf, set, standOf, state } from "./store.js";

let THREE = null, renderer = null, scene = null, camera = null, canvas = null, note = "";
let eye = { turn: 0.5, rise: 0.15, far: 2500, at: [0, 0, 0] }, of = "", frame = 0, shownHold = null, opening = null;
let skin = null; // {one, card, how: "turn" or "paint", mesh, part, group}: the object alone, for angles or marks
const meshes = new Map();

const place = () => document.getElementById("space");

async function begin() {
  if (THREE) return true;
  if (note) return false;
  try {
    THREE = await import("./three.module.js");
    canvas = h("canvas", { tabindex: 0, role: "img", "aria-label": "The case in space. Arrow keys turn it, plus and minus come nearer and go back.", "data-at": "canvas", onpointerdown: turn, onwheel: near, onkeydown: keys });
    renderer = new THREE.WebGLRenderer({ canvas, antialias: true, alpha: true });
    camera = new THREE.PerspectiveCamera(35, 1, 10, 50000);
    return true;
  } catch {
    THREE = null;
    note = "This browser draws nothing in space (no WebGL). Everything can be done on the elevations.";
    return false;
  }
}

export async function toggleSpace() {
  const on = place().hidden;
  place().hidden = !on;
  fit(state.whole);
  set({ space: on });
  shownHold = skin = null;
  of = "";
  if (on) await drawSpace();
}

async function open(what) {
  if (place().hidden) fit(state.whole);
  place().hidden = false;
  set({ space: true });
  [shownHold, skin] = [what.hold || null, what.skin || null];
  of = "";
  await drawSpace();
}

export const showHold = (shape, hold, one, tip = null) => open({ hold: { shape, hold, one, tip } });
export const showSkin = (one, card, how) => open({ skin: { one, card, how } });

const wholeCase = () => button("Whole case", () => { shownHold = skin = null; of = ""; Object.assign(eye, { turn: state.face === "B" ? Math.PI - 0.5 : 0.5, rise: 0.15 }); drawSpace(); });

const SIZES_mm = [1, 2, 4, 8, 16];

function skinTools() {
  const { one, card, how } = skin, paint = state.paint, count = paintedNow().length;
  if (how === "turn") return [h("b", {}, `${one.number}: turn it`), angleFields(one, card), may() && button("Look for a hold", () => askAngles(one, card), { class: "main", "data-at": "space ask" }), wholeCase()];
  return [h("b", {}, `${one.number}: where nothing may touch`), may() && [
    h("label", {}, "brush ", h("select", { "data-at": "brush", onchange: (event) => { paint.radius_mm = Number(event.target.value); } }, SIZES_mm.map((mm) => h("option", { value: mm, selected: mm === paint.radius_mm }, `${mm} mm`)))),
    h("label", {}, "why ", h("input", { type: "text", size: 12, maxlength: 80, list: "reasons", value: paint.why, placeholder: "rim, gilding…", "data-at": "why not", onchange: (event) => { paint.why = event.target.value.trim(); } }), h("datalist", { id: "reasons" }, ["rim", "handle", "gilding", "flaking", "old repair", "inscription", "paint"].map((why) => h("option", { value: why })))),
    button("Put on record", keepMarks, { class: "main", disabled: !count, "data-at": "keep marks" }), button("Take the stroke back", () => { paint.strokes.pop(); tint(); changed(); }, { disabled: !count, "data-at": "unstroke" })], wholeCase()];
}

async function keepMarks() {
  const { one } = skin, paint = state.paint;
  paint.why = document.querySelector('[data-at="why not"]')?.value.trim() || paint.why;
  if (!paint.why) { say("Say why nothing may touch there: rim, gilding, an old repair"); document.querySelector('[data-at="why not"]')?.focus(); return; }
  const taken = await sayOf(one, { marks: paintedNow().map((mark) => ({ ...mark, why: paint.why })) });
  if (!taken) return;
  paint.strokes = [];
  skin.card = (await source.card(one.number).catch(() => null)) || skin.card;
  tint();
  changed();
}

function tint() { if (skin?.mesh) { recolour(THREE, skin.mesh, skin.part, skin.card); draw(); } }

async function buildSkin() {
  fresh();
  const mine = of, buffer = await source.skin(skin.one.shape);
  if (of !== mine || !buffer) return;
  if (state.paint.number !== skin.one.number) state.paint = { ...state.paint, number: skin.one.number, strokes: [] };
  const group = solid(buffer);
  Object.assign(skin, { group, mesh: group.children[0], part: parts(buffer)[0] });
  group.matrixAutoUpdate = false;
  scene.add(group);
  turned();
  const size = new THREE.Box3().setFromObject(group).getSize(new THREE.Vector3()).length();
  eye.at = [0, 0, 0];
  Object.assign(eye, { far: 1.7 * size, turn: 0, rise: 0 });
  tint();
  draw();
}

// The object at the angles that are being asked for; to be painted it stands as it was, and the eye goes round it.
function turned() {
  skin.group.matrix.copy(matrix(THREE, skin.card, anglesOf(skin.one, skin.card)));
  skin.group.updateMatrixWorld(true);
}

function dab(event, stroke) {
  const box = canvas.getBoundingClientRect();
  const x = event ? (event.clientX - box.left) / box.width * 2 - 1 : 0, y = event ? 1 - (event.clientY - box.top) / box.height * 2 : 0;
  const at = touched(THREE, camera, skin.mesh, x, y), last = stroke[stroke.length - 1];
  if (!at) return false;
  const { radius_mm } = state.paint;
  if (!last || Math.hypot(...at.map((v, i) => v - last.centre_mm[i])) > radius_mm / 2) { stroke.push({ centre_mm: at, radius_mm, why: "" }); tint(); }
  return true;
}

// A press on the object paints, one next to it turns the eye; as a stroke is begun so it goes on.
function paintOrTurn(event) {
  const stroke = [];
  state.paint.strokes.push(stroke);
  if (!may() || event.button || event.shiftKey || !dab(event, stroke)) { state.paint.strokes.pop(); return false; }
  follow((now) => dab(now, stroke), changed);
  return true;
}

function follow(move, done = () => {}) {
  const end = () => { removeEventListener("pointermove", move); removeEventListener("pointerup", end); removeEventListener("pointercancel", end); done(); };
  addEventListener("pointermove", move);
  addEventListener("pointerup", end);
  addEventListener("pointercancel", end);
}

function turnBy(turn, tilt, roll = 0) {
  const now = anglesOf(skin.one, skin.card), within = (deg) => Math.round((((deg + 180) % 360 + 360) % 360 - 180) * 10) / 10;
  state.angles[skin.one.number] = { tilt_deg: within(now.tilt_deg + tilt), turn_deg: within(now.turn_deg + turn), roll_deg: within(now.roll_deg + roll) };
  changed();
}

function tools() {
  const go = (turn, rise, high) => () => { Object.assign(eye, { turn, rise }); if (high !== undefined) eye.at[1] = high; draw(); };
  const [seated, standing] = state.scene.eye_heights_mm.length > 1 ? state.scene.eye_heights_mm : [1205, 1612];
  // a child's eyes: between the seated and a metre; the case file's own heights take precedence
  const child = Math.min(...state.scene.eye_heights_mm, 1070);
  const from = (height) => () => { eye.turn = state.face === "B" ? Math.PI : 0; eye.rise = Math.asin(Math.max(-1, Math.min(1, (height - eye.at[1]) / eye.far))); draw(); };
  return h("div", { class: "row", role: "toolbar", "aria-label": "From where" }, skin ? skinTools() : shownHold ?
    [h("b", {}, `${shownHold.one.number}, hold ${shownHold.hold.index + 1}`), button("Front", () => around(0, 0)), button("Side", () => around(Math.PI / 2, 0)), button("Behind", () => around(Math.PI * 0.85, 0.3)),
      shownHold.hold.tips.map((tip, i) => button(`Tip ${i + 1}`, () => close(tip), { "data-at": `tip ${i}`, title: tip.words })), shownHold.hold.opens && button("How it comes out", play, { "data-at": "play" }), wholeCase()] :
    [button("Front A", go(0, 0.05)), button("Front B", go(Math.PI, 0.05)), button("Side", go(Math.PI / 2, 0.05)), button("Child", from(child)), button("Seated", from(seated)), button("Standing", from(standing))],
  button("✕", toggleSpace, { "aria-label": "Close the view in space", "data-at": "close space" }));
}

export async function drawSpace() {
  if (place().hidden || !state.scene) return;
  if (!THREE && !note) show(place(), h("p", { class: "note" }, "getting the view in space ready…"));
  if (!(await begin())) { show(place(), h("p", { class: "note" }, note), button("✕", toggleSpace, { "aria-label": "Close the view in space" })); return; }
  const key = skin ? `skin ${skin.one.number} ${skin.how} ${skin.card.shape}` : shownHold ? `hold ${shownHold.hold.key}` : `${state.panel} ${state.scene.seq}`;
  if (!place().contains(canvas)) show(place(), tools(), canvas);
  if (key !== of) {
    of = key;
    show(place(), tools(), canvas);
    await (skin ? buildSkin() : shownHold ? buildHold() : buildCase());
  } else {
    // the tools are drawn anew, not replaced under a hand that writes in them
    const old = place().firstChild;
    if (!old.contains(document.activeElement) || !document.activeElement.matches("input, select")) { const at = old.contains(document.activeElement) ? document.activeElement.dataset.at : null; old.replaceWith(tools()); if (at) place().querySelector(`[data-at="${CSS.escape(at)}"]`)?.focus(); }
    if (skin?.group) turned();
  }
  if (!shownHold && !skin) for (const [number, group] of meshes) {
    const one = state.scene.objects.find((thing) => thing.number === number), at = one && standOf(one);
    if (at && group.parent) put(group, at);
  }
  draw();
}

// A tip from outside, as near as a loupe: along its normal, a little from above so that the arm does not hide it.
function close(tip) {
  const [x, y, z] = tip.normal;
  Object.assign(eye, { at: tip.point_mm, far: Math.max(opening ? opening.size * 0.55 : 60, 30), turn: Math.atan2(-x, -z) + 0.35, rise: Math.max(-1.2, Math.min(1.2, Math.asin(-y) + 0.2)) });
  draw();
}

function fresh() {
  opening = null;
  scene = new THREE.Scene();
  scene.add(new THREE.HemisphereLight(0xffffff, 0x887766, 1.6));
  const lamp = new THREE.DirectionalLight(0xffffff, 1.8);
  lamp.position.set(-600, 1500, 1800);
  scene.add(lamp);
  const back = lamp.clone();
  back.position.set(600, 1500, -1800);
  scene.add(back);
}

function solid(buffer) {
  const group = new THREE.Group();
  for (const part of parts(buffer)) {
    const shape = new THREE.BufferGeometry();
    shape.setAttribute("position", new THREE.BufferAttribute(part.positions, 3));
    const linear = new Float32Array(part.colours.length / 4 * 3), colour = new THREE.Color();
    for (let i = 0; i < linear.length / 3; i++) {
      colour.setRGB(part.colours[4 * i] / 255, part.colours[4 * i + 1] / 255, part.colours[4 * i + 2] / 255, THREE.SRGBColorSpace);
      colour.toArray(linear, 3 * i);
    }
    shape.setAttribute("color", new THREE.BufferAttribute(linear, 3));
    shape.setIndex(new THREE.BufferAttribute(part.corners, 1));
    shape.computeVertexNormals();
    const mesh = new THREE.Mesh(shape, new THREE.MeshStandardMaterial({ vertexColors: true, roughness: part.name === "object" ? 0.9 : 0.45, metalness: 0 }));
    mesh.name = part.name;
    group.add(mesh);
  }
  return group;
}

function put(group, at) {
  const panel = panelOf(at.panel), shape = state.shapes[state.scene.objects.find((o) => o.number === group.userData.number).shape];
  const x = at.from_left_mm - shape.attach_mm[0], y = at.y_mm - shape.attach_mm[1] + panel.stands_at_mm;
  group.visible = at.panel === state.panel;
  if (at.face === "A") { group.position.set(x, y, shape.body_z_mm); group.rotation.y = 0; }
  else { group.position.set(panel.width_mm - x, y, -panel.thickness_mm - shape.body_z_mm); group.rotation.y = Math.PI; }
}

async function buildCase() {
  fresh();
  meshes.clear();
  const panel = panelOf(state.panel), mine = of;
  const sheet = new THREE.Mesh(new THREE.BoxGeometry(panel.width_mm, panel.height_mm, panel.thickness_mm),
    new THREE.MeshPhysicalMaterial({ color: 0xcfe3ea, transparent: true, opacity: 0.16, roughness: 0.05, depthWrite: false }));
  sheet.position.set(panel.width_mm / 2, panel.stands_at_mm + panel.height_mm / 2, -panel.thickness_mm / 2);
  sheet.renderOrder = 2;
  scene.add(sheet, new THREE.LineSegments(new THREE.EdgesGeometry(sheet.geometry), new THREE.LineBasicMaterial({ color: 0x5b7f8c })));
  scene.children[scene.children.length - 1].position.copy(sheet.position);
  const floor = new THREE.GridHelper(4000, 16, 0x888888, 0xbbbbbb);
  floor.position.set(panel.width_mm / 2, 0, 0);
  scene.add(floor);
  const here = state.scene.objects.filter((one) => { const at = standOf(one); return at && at.panel === panel.name; });
  const heights = here.map((one) => standOf(one).y_mm + panel.stands_at_mm);
  const low = heights.length ? Math.min(...heights) : panel.stands_at_mm, high = heights.length ? Math.max(...heights) : panel.height_mm;
  eye.at = [panel.width_mm / 2, (low + high) / 2, -panel.thickness_mm / 2];
  const box = place().getBoundingClientRect(), aspect = Math.max(box.width / Math.max(box.height, 1), 0.2);
  eye.far = Math.max(1.7 * (high - low + 250), 1.7 * panel.width_mm / Math.min(aspect, 1), 600);
  draw();
  for (const one of here) {
    const buffer = await source.model(one.shape, false);
    if (of !== mine) return; // something else is shown by now
    if (!buffer) continue;
    const group = solid(buffer);
    group.userData.number = one.number;
    meshes.set(one.number, group);
    scene.add(group);
    put(group, standOf(one));
    draw();
  }
}

async function buildHold() {
  fresh();
  const { shape, hold } = shownHold, mine = of;
  const buffer = (await source.holdModel(shape, hold)) || (await source.model(shape, true));
  if (of !== mine || !buffer) return;
  const group = solid(buffer);
  scene.add(group);
  const box = new THREE.Box3().setFromObject(group), size = box.getSize(new THREE.Vector3()).length();
  hold.tips.forEach((tip, i) => {
    const ball = new THREE.Mesh(new THREE.SphereGeometry(size / 70, 16, 12), new THREE.MeshBasicMaterial({ color: 0x0b57a4 }));
    ball.position.set(...tip.point_mm);
    ball.name = `tip ${i}`;
    scene.add(ball);
  });
  opening = { group, hold, size, way: [], middle: box.getCenter(new THREE.Vector3()).toArray() };
  around(-0.6, 0.3);
  if (shownHold.tip !== null) close(hold.tips[shownHold.tip]);
  draw();
}

// The whole hold from some side, also after a close-up of one tip.
function around(turn, rise, far = 1.9) {
  if (opening) Object.assign(eye, { at: [...opening.middle], far: far * opening.size, turn, rise });
  draw();
}

const OPENS_ms = 1200, LEAVES_ms = 1500, OPEN_deg = 35;

// What the opening does to its arm's parts at a share of the way: a wire is bent open at its foot, a pin or screw drawn.
function openArm({ group, hold, size }, share) {
  const [arm, kind, way] = hold.opens, foot = new THREE.Vector3(...hold.arms_mm[arm][0]);
  const reach = new THREE.Vector3(...hold.tips[arm].point_mm).sub(foot), towards = new THREE.Vector3(...way);
  const axis = reach.cross(towards).normalize(), turned = new THREE.Quaternion().setFromAxisAngle(axis, kind === "bend" ? share * OPEN_deg * Math.PI / 180 : 0);
  const at = kind === "bend" ? foot.clone().sub(foot.clone().applyQuaternion(turned)) : towards.multiplyScalar(share * size * 0.3);
  for (const part of group.children) if (new RegExp(`^(arm|pad) ${arm + 1}( |$)`).test(part.name)) { part.quaternion.copy(turned); part.position.copy(at); }
  scene.getObjectByName(`tip ${arm}`)?.position.set(...hold.tips[arm].point_mm).applyQuaternion(turned).add(at);
}

// What of a hold is not where it belongs, as drawn now.
const moved = ({ group, hold }) => ["arm", "object"].filter((name) => group.children.some((part) =>
  (name === "object" ? part.name === name : hold.opens && part.name === `arm ${hold.opens[0] + 1}`) && (part.position.length() > 1e-6 || Math.abs(part.quaternion.w) < 1 - 1e-9))).join(" and ") || "closed";

// The arm opens, the object leaves its mount the way that was found, and all comes back; a few frames only.
function play() {
  const mine = opening;
  if (!mine?.hold.opens || mine.playing) return;
  mine.playing = true;
  around(eye.turn, Math.max(eye.rise, 0.2), 2.8); // with room for what leaves
  const [, , , leaves, travel] = mine.hold.opens, object = mine.group.children.find((mesh) => mesh.name === "object");
  const far = Math.max(travel, mine.size * 0.8), there = OPENS_ms + LEAVES_ms;
  let t = 0, last = performance.now();
  const stepOn = () => {
    if (opening !== mine) return; // something else is shown by now
    const now = performance.now();
    t += Math.min(now - last, 100); // a slow browser shows it slowly, and leaves nothing out
    last = now;
    const at = t < there ? t : Math.max(0, 2 * there - t);
    const share = Math.max(0, at - OPENS_ms) / LEAVES_ms;
    openArm(mine, Math.min(1, at / OPENS_ms));
    object.position.set(leaves[0] * far * share, leaves[1] * far * share, leaves[2] * far * share);
    draw();
    if (t < 2 * there) { setTimeout(stepOn, 40); return; }
    mine.playing = false;
  };
  stepOn();
}

function draw() {
  if (!renderer || place().hidden || frame) return;
  frame = requestAnimationFrame(() => {
    frame = 0;
    const box = place().getBoundingClientRect(), wide = Math.max(box.width, 50), tall = Math.max(box.height - place().firstChild.getBoundingClientRect().height, 50);
    const ratio = Math.min(devicePixelRatio || 1, 1.5);
    if (renderer.getPixelRatio() !== ratio) renderer.setPixelRatio(ratio);
    renderer.setSize(wide, tall, false);
    canvas.style.width = `${wide}px`;
    canvas.style.height = `${tall}px`;
    camera.aspect = wide / tall;
    camera.updateProjectionMatrix();
    const { turn, rise, far, at } = eye;
    camera.position.set(at[0] + far * Math.sin(turn) * Math.cos(rise), at[1] + far * Math.sin(rise), at[2] + far * Math.cos(turn) * Math.cos(rise));
    camera.lookAt(...at);
    renderer.render(scene, camera);
    canvas.dataset.drawn = String(meshes.size || 1);
    canvas.dataset.far = far.toFixed(1);
    if (opening) canvas.dataset.hold = opening.hold.key; else delete canvas.dataset.hold;
    const away = opening ? moved(opening) : "", way = opening?.way;
    if (way && way[way.length - 1] !== away) way.push(away);
    canvas.dataset.way = way ? way.join(", ") : "";
    if (skin?.mesh) canvas.dataset.skin = skin.one.number; else delete canvas.dataset.skin;
  });
}

function turn(event) {
  if (skin?.how === "paint" && skin.mesh && paintOrTurn(event)) return;
  let last = [event.clientX, event.clientY];
  const rolls = event.shiftKey;
  follow((now) => {
    const dx = now.clientX - last[0], dy = now.clientY - last[1];
    last = [now.clientX, now.clientY];
    if (skin?.how === "turn") turnBy(rolls ? 0 : dx / 2.5, rolls ? 0 : dy / 2.5, rolls ? -dx / 2.5 : 0);
    else { eye.turn -= dx / 150; eye.rise = Math.max(-1.4, Math.min(1.4, eye.rise + dy / 150)); draw(); }
  });
}

function near(event) { event.preventDefault(); eye.far *= Math.exp(event.deltaY / 600); draw(); }

function keys(event) {
  if (skin?.how === "turn") {
    const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key], step = event.ctrlKey ? 10 : 1;
    if (by) { event.preventDefault(); event.stopPropagation(); if (event.shiftKey) turnBy(0, 0, -(by[0] || by[1]) * step); else turnBy(by[0] * step, by[1] * step); return; }
  }
  if (skin?.how === "paint" && event.key === " " && may() && skin.mesh) { // at the middle of the picture
    event.preventDefault();
    const stroke = [];
    if (dab(null, stroke)) { state.paint.strokes.push(stroke); tint(); changed(); }
    return;
  }
  const act = { ArrowLeft: () => { eye.turn -= 0.1; }, ArrowRight: () => { eye.turn += 0.1; }, ArrowUp: () => { eye.rise = Math.min(1.4, eye.rise + 0.1); }, ArrowDown: () => { eye.rise = Math.max(-1.4, eye.rise - 0.1); },
    "+": () => { eye.far /= 1.15; }, "-": () => { eye.far *= 1.15; } }[event.key];
  if (!act) return;
  event.preventDefault();
  act();
  draw();
}
