// Where the case comes from: the server that gave this page out, or the file that it was written into.

import { set, state } from "./store.js";

const given = document.getElementById("case-in-file");

async function asked(address, body) {
  const answer = await fetch(address, body === undefined ? {} : {
    method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body),
  });
  const plain = await answer.json().catch(() => ({ sentence: `the server answered ${answer.status}` }));
  if (!answer.ok) {
    const problem = new Error(plain.sentence || `the server answered ${answer.status}`);
    problem.status = answer.status;
    problem.changed = plain.changed;
    throw problem;
  }
  return plain;
}

function liveSource() {
  let socket = null, wait = 300, ticket = 0, waiting = null, flying = false, next = null, told = () => {};

  async function refetch() {
    let scene = await asked("/api/case");
    while (!scene.objects) { // the case is being opened, and nothing was kept of it to show meanwhile
      told({ type: "opening", ...scene.opening });
      await new Promise((go) => setTimeout(go, 400));
      scene = await asked("/api/case");
    }
    const known = scene.objects.every((one) => state.shapes[one.shape]);
    const shapes = known ? state.shapes : await asked("/api/shapes");
    set({ scene, shapes, seat: scene.seat, opening: scene.opening || null, cards: state.selected && state.cards[state.selected] ? { [state.selected]: state.cards[state.selected] } : {} });
    return scene;
  }

  function connect() {
    socket = new WebSocket(`ws://${location.host}/live`);
    socket.onopen = async () => {
      wait = 300;
      flying = false;
    };
    socket.onclose = () => {
      if (state.link !== "opening" && state.link !== "lost") set({ link: "lost" });
      flying = false;
      setTimeout(connect, wait);
      wait = Math.min(wait * 2, 5000);
    };
    socket.onmessage = async (event) => {
      const said = JSON.parse(event.data);
      if (said.type === "hello") {
        const away = state.link === "lost";
        try {
          await refetch(); // something may have been said between the first look and this
          set({ link: "live" });
          if (away) told({ type: "back" });
        } catch { socket.close(); }
      }
      if (said.type === "opening") set({ opening: said });
      if (said.type === "work") set({ work: said.jobs });
      if (said.type === "card") { delete state.cards[said.object]; told(said); }
      if (said.type === "changed") { await refetch().catch(() => {}); told(said); }
      if (said.type === "findings" || said.type === "refused") {
        flying = false;
        if (waiting && said.ticket === waiting.ticket) { waiting.done(said.findings); waiting = null; }
        if (next) send();
      }
    };
  }

  // One drag in flight at a time, and only the latest waits: the server is never behind the hand.
  function send() {
    if (!next || flying || !socket || socket.readyState !== 1) return;
    flying = true;
    waiting = { ticket: next.ticket, done: next.done };
    socket.send(JSON.stringify({ ticket: next.ticket, moves: next.moves }));
    next = null;
  }

  return {
    live: true,
    async open(listen) { told = listen; await refetch(); if (!state.opening) set({ link: "live" }); connect(); },
    drag(moves) { return new Promise((done) => { next = { ticket: ++ticket, moves, done }; send(); }); },
    card: (number) => asked(`/api/card?object=${encodeURIComponent(number)}&units=${state.units}`),
    decide: (said) => asked("/api/decide", said),
    nudge: (moves) => asked("/api/nudge", { ticket: 0, moves }),
    proposals: () => asked("/api/proposals", {}),
    compare: (how) => asked(`/api/compare?${new URLSearchParams(how)}`),
    keepTry: (name, moves) => asked("/api/try", { name, moves }),
    angles: (object, angles) => asked("/api/angles", { object, ...angles }),
    stop: (object) => asked("/api/stop", { object }),
    skin: async (key) => (await fetch(`/skin/${key}.glb`)).arrayBuffer(),
    showing: (key, index) => `/showing/${key}/${index}.png`,
    picture: (key) => `/picture/${key}.png`,
    holdPicture: (shape, hold, view) => `/hold/${shape}/${hold.index}/${view}.png?of=${hold.key}`,
    model: async (key, fine) => (await fetch(`/model/${key}.glb${fine ? "?fine=1" : ""}`)).arrayBuffer(),
    holdModel: async (shape, hold) => (await fetch(`/hold/${shape}/${hold.index}.glb?of=${hold.key}`)).arrayBuffer(),
  };
}

function fileSource(file) {
  const bytes = async (text) => {
    const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    return new Response(stream).arrayBuffer();
  };
  return {
    live: false,
    async open() {
      const whole = JSON.parse(new TextDecoder().decode(await bytes(file.textContent)));
      this.whole = whole;
      set({ scene: whole.scene, shapes: whole.shapes, cards: whole.cards, seat: "guest", link: "file" });
    },
    drag: async () => [], card: async function card(number) { return this.whole.cards[number]; },
    decide: async () => { throw new Error("this is a file to look at: decisions are taken at the review page"); },
    nudge: async () => ({ moves: [], reasons: [] }), proposals: async () => [],
    compare: async () => ({ moved: [], stops: [0, 0], only_now: [], only_there: [], refused: [] }),
    picture(key) { return `data:image/png;base64,${this.whole.pictures[key] || ""}`; },
    holdPicture(shape, hold, view) { return `data:image/png;base64,${this.whole.pictures[`${hold.key}-${view}`] || ""}`; },
    showing(key, index) { return `data:image/png;base64,${this.whole.pictures[`${key}-showing-${index}`] || ""}`; },
    async model(key) { return this.whole.models[key] ? bytes(this.whole.models[key]) : null; },
    holdModel: async () => null, // only the model of the hold that counts is in the file
  };
}

export const source = given ? fileSource(given) : liveSource();
