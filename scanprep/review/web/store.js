// What the page knows and what it shows: one value, changed in one place, drawn once a frame.

export const state = {
  scene: null, shapes: {}, cards: {}, seat: "guest", link: "opening", // opening, live, lost, file
  panel: null, face: "A", selected: null, tab: "object", part: null, // of the card, to be shown next
  draft: {}, // object -> {object, panel, face, from_left_mm, y_mm}: moved on this page, not on record
  steps: [], // earlier drafts of this page, for undo
  trial: null, // findings of the draft, by cause
  mine: [], // entries of decisions taken on this page, the latest last
  options: { other: false, groups: false, gaps: true, eyes: true, snap: true, holes: true, pictures: true },
  units: "mm", look: "auto", filter: "all", folded: {}, proposals: null, nudge: null, busy: "", compare: null, large: {},
  opening: null, // how far the case is opened, while it is
  work: [], // searches for holds that wait or run
  angles: {}, // object -> {tilt_deg, turn_deg, roll_deg} as they are being turned
  paint: { number: null, strokes: [], radius_mm: 4, why: "" }, // marks painted on this page, not on record
  me: { person: "", role: "curator" },
};

const watchers = [];
let waiting = false, pressing = false;

// A control that is being pressed is not replaced under the finger: the drawing waits until it is let go.
addEventListener("pointerdown", (event) => { pressing = !!event.target.closest?.("button, select, summary, input, textarea"); }, true);
for (const name of ["pointerup", "pointercancel"]) addEventListener(name, () => setTimeout(() => { pressing = false; }), true);

export function watch(draw) { watchers.push(draw); }

export function changed() {
  if (waiting) return;
  waiting = true;
  const draw = () => {
    if (pressing) { requestAnimationFrame(draw); return; }
    waiting = false;
    for (const one of watchers) one(state);
  };
  requestAnimationFrame(draw);
}

export function set(values) { Object.assign(state, values); changed(); }

export const objectOf = (number) => state.scene.objects.find((one) => one.number === number);
export const panelOf = (name) => state.scene.panels.find((one) => one.name === name);

// Where an object is on this page: where it was dragged to, else where the record has it.
export function standOf(one) {
  const draft = state.draft[one.number];
  if (draft) return draft.panel ? draft : null;
  return one.panel ? { object: one.number, panel: one.panel, face: one.face, from_left_mm: one.from_left_mm, y_mm: one.y_mm } : null;
}

// X, which runs from the datum edge on both faces: face A's left, face B's right. The same sum leads back.
export const datumX = (at) => (at.face === "A" ? at.from_left_mm : panelOf(at.panel).width_mm - at.from_left_mm);

export const may = () => state.seat === "decides" && state.link !== "file" && !state.opening;

export function keep(name, value) {
  try { localStorage.setItem(`scanprep.${name}`, JSON.stringify(value)); } catch { /* private mode: not kept */ }
}

export function kept(name, otherwise) {
  try { return JSON.parse(localStorage.getItem(`scanprep.${name}`)) ?? otherwise; } catch { return otherwise; }
}
