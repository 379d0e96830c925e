// Text from outside, made fit to be read: control, direction and invisible characters shown by their code point instead
// of obeyed, as the papers and the command line do it (scanprep.plain_text). Line ends and tabs stay.

const HIDDEN = /[\p{Cc}\p{Cf}\p{Cs}\p{Co}\p{Zl}\p{Zp}]/gu, JOINERS = "\u200c\u200d", JOINING = /[\p{Lo}\p{Mn}]$/u;

// Joiners stay after the letters of scripts that join, where they are part of the spelling.
export const visible = (text) => text.replace(HIDDEN, (letter, at) =>
  (letter === "\n" || letter === "\t" || (JOINERS.includes(letter) && JOINING.test(text.slice(0, at)))) ? letter :
    `<U+${letter.codePointAt(0).toString(16).toUpperCase().padStart(4, "0")}>`);
