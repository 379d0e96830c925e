// What a person has written and not yet sent. Each text is kept by its name, so that a drawing of the page anew, which
// other people's decisions cause at any moment, never loses a word of it.

const texts = new Map();

// The attributes of a field whose text is kept as `name`; `otherwise` is shown until somebody writes.
export const unsent = (name, otherwise = "") => ({ value: texts.get(name) ?? otherwise, oninput: (event) => texts.set(name, event.target.value) });
export const textOf = (name, otherwise = "") => texts.get(name) ?? otherwise;
export const sent = (...names) => { for (const name of names) texts.delete(name); };
