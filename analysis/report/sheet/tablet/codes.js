"use strict";
// A sequence of QR codes (ISO/IEC 18004) for where no file can be moved: version 15, level L, bytes.

const SIDE = 77; // modules of version 15
const DATA_WORDS = 523;
const BLOCKS = [87, 87, 87, 87, 87, 88]; // data words of each block
const CHECK_WORDS = 22; // of each block
const ALIGNED = [6, 26, 48, 70];
const PART = 470; // characters of the message in one code, its head apart

const POWERS = new Uint8Array(512);
const LOGS = new Uint8Array(256);
for (let i = 0, value = 1; i < 255; i++) {
  POWERS[i] = POWERS[i + 255] = value;
  LOGS[value] = i;
  value = value & 128 ? (value << 1) ^ 0x11d : value << 1;
}

/**
 * @param {number} one
 * @param {number} other
 */
function times(one, other) {
  return one && other ? POWERS[LOGS[one] + LOGS[other]] : 0;
}

/** The generator polynomial of a Reed-Solomon code, its highest term left out. */
function generator() {
  let found = [1];
  for (let i = 0; i < CHECK_WORDS; i++) {
    const next = [...found, 0];
    found.forEach((each, place) => (next[place + 1] ^= times(each, POWERS[i])));
    found = next;
  }
  return found.slice(1);
}

/**
 * @param {number[]} block
 */
function checkWords(block) {
  const by = generator();
  const rest = new Array(CHECK_WORDS).fill(0);
  for (const word of block) {
    const lead = word ^ /** @type {number} */ (rest.shift());
    rest.push(0);
    by.forEach((each, place) => (rest[place] ^= times(each, lead)));
  }
  return rest;
}

/**
 * The words of a text, data and check words of the blocks taken in turn.
 * @param {string} text ASCII, 520 characters at most
 */
function codeWords(text) {
  const bits = [0, 1, 0, 0];
  const put = (/** @type {number} */ value, /** @type {number} */ count) => {
    for (let i = count - 1; i >= 0; i--) bits.push((value >> i) & 1);
  };
  put(text.length, 16);
  for (let i = 0; i < text.length; i++) put(text.charCodeAt(i), 8);
  put(0, Math.min(4, DATA_WORDS * 8 - bits.length));
  while (bits.length % 8) bits.push(0);
  /** @type {number[]} */
  const words = [];
  for (let i = 0; i < bits.length; i += 8) words.push(parseInt(bits.slice(i, i + 8).join(""), 2));
  for (let pad = 0xec; words.length < DATA_WORDS; pad ^= 0xec ^ 0x11) words.push(pad);
  let from = 0;
  const blocks = BLOCKS.map((size) => words.slice(from, (from += size)));
  const checks = blocks.map(checkWords);
  const found = [];
  for (let i = 0; i < 88; i++) for (const block of blocks) if (i < block.length) found.push(block[i]);
  for (let i = 0; i < CHECK_WORDS; i++) for (const check of checks) found.push(check[i]);
  return found;
}

/**
 * The remainder that protects format and version.
 * @param {number} value
 * @param {number} by
 * @param {number} bits
 */
function protectedBits(value, by, bits) {
  let rest = value << bits;
  for (let i = 31 - Math.clz32(rest); i >= bits; i--) if ((rest >> i) & 1) rest ^= by << (i - bits);
  return (value << bits) | rest;
}

/** @typedef {{dark: Uint8Array, fixed: Uint8Array}} Field */

/**
 * @param {Field} field
 * @param {number} x
 * @param {number} y
 * @param {number | boolean} dark
 */
function fix(field, x, y, dark) {
  if (x < 0 || y < 0 || x >= SIDE || y >= SIDE) return;
  field.dark[y * SIDE + x] = dark ? 1 : 0;
  field.fixed[y * SIDE + x] = 1;
}

/** Finders, timing, alignment and version: what stands in every code of this version. */
function emptyField() {
  /** @type {Field} */
  const field = { dark: new Uint8Array(SIDE * SIDE), fixed: new Uint8Array(SIDE * SIDE) };
  for (let i = 0; i < SIDE; i++) {
    fix(field, 6, i, i % 2 === 0);
    fix(field, i, 6, i % 2 === 0);
  }
  for (const [x, y] of [[3, 3], [SIDE - 4, 3], [3, SIDE - 4]]) rings(field, x, y, 4, [0, 1, 3]);
  for (const x of ALIGNED) {
    for (const y of ALIGNED) {
      const corner = (x === 6 && y === 6) || (x === 6 && y === 70) || (x === 70 && y === 6);
      if (!corner) rings(field, x, y, 2, [0, 2]);
    }
  }
  const version = protectedBits(15, 0x1f25, 12);
  for (let i = 0; i < 18; i++) {
    const [a, b] = [SIDE - 11 + (i % 3), Math.floor(i / 3)];
    fix(field, a, b, (version >> i) & 1);
    fix(field, b, a, (version >> i) & 1);
  }
  return field;
}

/**
 * @param {Field} field
 * @param {number} x
 * @param {number} y
 * @param {number} reach
 * @param {number[]} darkAt distances from the middle that are dark
 */
function rings(field, x, y, reach, darkAt) {
  for (let dy = -reach; dy <= reach; dy++) {
    for (let dx = -reach; dx <= reach; dx++) fix(field, x + dx, y + dy, darkAt.includes(Math.max(Math.abs(dx), Math.abs(dy))));
  }
  if (reach === 4) fix(field, x, y, 1);
}

/**
 * @param {Field} field
 * @param {number} mask
 */
function putFormat(field, mask) {
  const bits = protectedBits((1 << 3) | mask, 0x537, 10) ^ 0x5412;
  const bit = (/** @type {number} */ i) => (bits >> i) & 1;
  for (let i = 0; i <= 5; i++) fix(field, 8, i, bit(i));
  fix(field, 8, 7, bit(6));
  fix(field, 8, 8, bit(7));
  fix(field, 7, 8, bit(8));
  for (let i = 9; i < 15; i++) fix(field, 14 - i, 8, bit(i));
  for (let i = 0; i < 8; i++) fix(field, SIDE - 1 - i, 8, bit(i));
  for (let i = 8; i < 15; i++) fix(field, 8, SIDE - 15 + i, bit(i));
  fix(field, 8, SIDE - 8, 1);
}

/** @type {((x: number, y: number) => boolean)[]} */
const MASKS = [
  (x, y) => (x + y) % 2 === 0,
  (x, y) => y % 2 === 0,
  (x) => x % 3 === 0,
  (x, y) => (x + y) % 3 === 0,
];

/**
 * A code as rows of dark and light modules.
 * @param {string} text
 * @returns {Uint8Array}
 */
function codeOf(text) {
  const words = codeWords(text);
  const found = MASKS.map((mask, number) => {
    const field = emptyField();
    putFormat(field, number);
    putWords(field, words, mask);
    return field.dark;
  });
  const worth = found.map(evenness);
  return found[worth.indexOf(Math.min(...worth))];
}

/**
 * @param {Field} field
 * @param {number[]} words
 * @param {(x: number, y: number) => boolean} mask
 */
function putWords(field, words, mask) {
  let place = 0;
  for (let right = SIDE - 1; right >= 1; right -= 2) {
    if (right === 6) right = 5;
    for (let step = 0; step < SIDE; step++) {
      const up = ((right + 1) & 2) === 0;
      const y = up ? SIDE - 1 - step : step;
      for (const x of [right, right - 1]) {
        if (field.fixed[y * SIDE + x]) continue;
        const bit = place < words.length * 8 ? (words[place >> 3] >> (7 - (place & 7))) & 1 : 0;
        place++;
        field.dark[y * SIDE + x] = bit ^ (mask(x, y) ? 1 : 0);
      }
    }
  }
}

/**
 * How many squares of four are alike: the fewer, the easier a code is read.
 * @param {Uint8Array} dark
 */
function evenness(dark) {
  let alike = 0;
  for (let i = 0; i < SIDE * (SIDE - 1) - 1; i++) {
    if (dark[i] === dark[i + 1] && dark[i] === dark[i + SIDE] && dark[i] === dark[i + SIDE + 1]) alike++;
  }
  return alike;
}

/**
 * A text packed and cut into the lines that the codes hold.
 * @param {string} text
 * @returns {Promise<string[]>}
 */
async function codeLines(text) {
  const packed = new Blob([text]).stream().pipeThrough(new CompressionStream("deflate-raw"));
  const bytes = new Uint8Array(await new Response(packed).arrayBuffer());
  let plain = "";
  for (const each of bytes) plain += String.fromCharCode(each);
  const message = btoa(plain);
  const count = Math.ceil(message.length / PART);
  const sum = [...bytes].reduce((all, each) => (all * 31 + each) % 65521, 7).toString(16).padStart(4, "0");
  return Array.from({ length: count }, (_, i) => `SLACKWATER ${sum} ${i + 1}/${count} ${message.slice(i * PART, (i + 1) * PART)}`);
}

// --- on the screen -------------------------------------------------------------------------------

/** @type {{lines: string[], at: number} | null} */
let codes = null;

async function openCodes() {
  codes = { lines: await codeLines(aboardText()), at: 0 };
  refresh();
}

/**
 * @param {number} by
 */
function turnCodes(by) {
  if (!codes) return;
  codes.at = (codes.at + by + codes.lines.length) % codes.lines.length;
  refresh();
}

function codesPart() {
  if (!codes) return null;
  const { lines, at } = codes;
  const label = say("code-of", { n: at + 1, all: lines.length });
  return h(
    "section",
    { class: "codes" },
    h("h2", {}, label),
    drawn(codeOf(lines[at]), label),
    h("div", { class: "buttons" }, button("code-before", () => turnCodes(-1)), button("code-after", () => turnCodes(1))),
    h("p", { class: "small" }, say("codes-how")),
  );
}

/**
 * @param {Uint8Array} dark
 * @param {string} label
 */
function drawn(dark, label) {
  const scale = 4;
  const quiet = 4;
  const made = h("canvas", { width: scale * (SIDE + 2 * quiet), height: scale * (SIDE + 2 * quiet), role: "img", "aria-label": label });
  const canvas = /** @type {HTMLCanvasElement} */ (made);
  const pen = canvas.getContext("2d");
  if (!pen) return made;
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.fillStyle = "#000";
  dark.forEach((each, i) => each && pen.fillRect(scale * ((i % SIDE) + quiet), scale * (Math.floor(i / SIDE) + quiet), scale, scale));
  return made;
}
