// Codes as src/ortet/wood/code.py reads them: Crockford's alphabet and Damm's check character over GF(32).
import {say} from "./words.js";

const ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const PAYLOAD = 7;
const VALUE = new Map([...ALPHABET].map((character, value) => [character, value]));
const twice = value => (value << 1) ^ (value & 0b10000 ? 0b100101 : 0);

export function checkCharacter(payload) {
  let total = 0;
  for (const character of payload) total = twice(total ^ VALUE.get(character));
  return ALPHABET[total];
}

const plain = text => text.replace(/[\s\-‐‑–—]/g, "")
  .replace(/[a-z]/g, letter => letter.toUpperCase()).replace(/[IL]/g, "1").replace(/O/g, "0");

// The code that was typed, read aloud or scanned; or why it is none.
export function readCode(text) {
  const code = plain(text), length = [...code].length;
  if (length !== PAYLOAD + 1) return {why: say("“{text}” has {length} characters, and a code has {whole}, such as 7K3Q-9M2D. Read the label again, from the first character to the last.", {text, length, whole: PAYLOAD + 1})};
  const strange = [...code].find(character => !VALUE.has(character));
  if (strange) return {why: say("“{text}”: “{strange}” is in no code. A code has figures and the letters A to Z without I, L, O and U. Read the label again.", {text, strange})};
  if (checkCharacter(code.slice(0, PAYLOAD)) !== code[PAYLOAD]) return {why: say("“{text}” is no code: one of its characters is wrong, or two changed places. Read the label again, character by character.", {text})};
  return {code};
}

export const showCode = code => `${code.slice(0, 4)}-${code.slice(4)}`;

// What a scanned code leads to: addresses end in /L/ and a code, or for a trial's plot in /T/, its number and the plot's.
export function readLabel(text) {
  const plot = text.match(/\/t\/(\d+\/\d+)\/?$/i);
  if (plot) return {plot: plot[1]};
  const last = text.match(/\/l\/([^/]+)\/?$/i);
  return {text: last ? last[1] : text.trim()};
}

// RFC 9562, 5.7: 48 bits of time, then random. randomUUID is missing over plain http; getRandomValues is not.
export function uuid7(at = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let n = 0; n < 6; n++) bytes[n] = Math.floor(at / 2 ** (8 * (5 - n))) % 256;
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = [...bytes].map(byte => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
