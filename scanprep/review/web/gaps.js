// The gap between two outlines as seen from the front, and where it is narrowest. Rings in mm.

function toSegment([px, py], [ax, ay], [bx, by]) {
  const dx = bx - ax, dy = by - ay, long = dx * dx + dy * dy;
  const t = long ? Math.max(0, Math.min(1, ((px - ax) * dx + (py - ay) * dy) / long)) : 0;
  return [ax + t * dx, ay + t * dy];
}

function inside([x, y], ring) {
  let within = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [xi, yi] = ring[i], [xj, yj] = ring[j];
    if ((yi > y) !== (yj > y) && x < (xj - xi) * (y - yi) / (yj - yi) + xi) within = !within;
  }
  return within;
}

export function nearest(mine, theirs, number) {
  let best = { mm: Infinity, ends: [mine[0][0], theirs[0][0]], number };
  const look = (from, to, turned) => {
    for (const a of from) for (const point of a) for (const b of to) for (let i = 0; i < b.length; i++) {
      const foot = toSegment(point, b[i], b[(i + 1) % b.length]), mm = Math.hypot(point[0] - foot[0], point[1] - foot[1]);
      if (mm < best.mm) best = { mm, ends: turned ? [foot, point] : [point, foot], number };
    }
  };
  look(mine, theirs, false);
  look(theirs, mine, true);
  // by the even-odd rule: a point in an opening is outside
  const within = (point, rings) => rings.filter((ring) => inside(point, ring)).length % 2 === 1;
  if (mine.some((ring) => within(ring[0], theirs)) || theirs.some((ring) => within(ring[0], mine))) best.mm = 0;
  return best;
}
