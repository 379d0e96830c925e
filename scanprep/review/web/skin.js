// The object alone, in 3D: turned to angles of one's own, or painted with marks where nothing may touch. The model is in
// the scan's own axes, so what is painted is kept as it is painted; base and centre turn it to the viewer.

import { state } from "./store.js";

const PAINTED = [178, 58, 0], STRIPE = [40, 20, 10]; // hatched, so that colour does not speak alone

// Scan axes -> display axes at some angles: roll about z, then tilt about x, then turn about y, after the base.
export function matrix(THREE, card, { tilt_deg, turn_deg, roll_deg }) {
  const rad = Math.PI / 180, [x, y, z] = card.base, turned = new THREE.Matrix4().makeRotationZ(roll_deg * rad)
    .multiply(new THREE.Matrix4().makeRotationX(tilt_deg * rad)).multiply(new THREE.Matrix4().makeRotationY(turn_deg * rad));
  const base = new THREE.Matrix4().set(...x, 0, ...y, 0, ...z, 0, 0, 0, 0, 1);
  return turned.multiply(base).multiply(new THREE.Matrix4().makeTranslation(...card.centre_mm.map((v) => -v)));
}

function inside(region, at, x, y, z, colours) {
  const dx = x - region.centre_mm[0], dy = y - region.centre_mm[1], dz = z - region.centre_mm[2], size = region.size_mm;
  if (region.kind === "ball") return dx * dx + dy * dy + dz * dz <= size[0] * size[0];
  if (region.kind === "box") return Math.abs(dx) <= size[0] / 2 && Math.abs(dy) <= size[1] / 2 && Math.abs(dz) <= size[2] / 2;
  if (region.kind === "plane") return dx * region.normal[0] + dy * region.normal[1] + dz * region.normal[2] >= 0;
  return region.colour.every((value, i) => Math.abs(colours[4 * at + i] - value) <= 40);
}

export const paintedNow = () => state.paint.strokes.flat();

// Colour a skin's corners: its own colours, and hatched where nothing may touch.
export function recolour(THREE, mesh, part, card) {
  const regions = [...card.no_touch, ...paintedNow().map((mark) => ({ kind: "ball", centre_mm: mark.centre_mm, size_mm: [mark.radius_mm, 0, 0] }))];
  const to = mesh.geometry.attributes.color, colour = new THREE.Color(), points = part.positions;
  for (let i = 0; i < to.count; i++) {
    const x = points[3 * i], y = points[3 * i + 1], z = points[3 * i + 2];
    let rgb = [part.colours[4 * i], part.colours[4 * i + 1], part.colours[4 * i + 2]];
    if (regions.some((region) => inside(region, i, x, y, z, part.colours))) rgb = Math.floor((x + y + z) / 2.5) % 2 ? PAINTED : STRIPE;
    colour.setRGB(rgb[0] / 255, rgb[1] / 255, rgb[2] / 255, THREE.SRGBColorSpace);
    to.setXYZ(i, colour.r, colour.g, colour.b);
  }
  to.needsUpdate = true;
}

// Where a ray from the eye meets the skin, in scan axes; null beside it.
export function touched(THREE, camera, mesh, x, y) {
  const ray = new THREE.Raycaster();
  ray.setFromCamera(new THREE.Vector2(x, y), camera);
  const hit = ray.intersectObject(mesh, false)[0];
  return hit ? mesh.worldToLocal(hit.point.clone()).toArray().map((v) => Math.round(v * 100) / 100) : null;
}
