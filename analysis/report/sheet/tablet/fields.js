"use strict";
// Fields for readings: a number pad for gloves, what the rules say at once, and whether it is stored.

const IN_WORDS = ["note", "set_aside", "start", "helmsman"]; // fields that hold a text

/**
 * @param {Unit} run
 * @param {string} name
 */
function fieldOf(run, name) {
  const column = columnsOf(app.data, run).find((each) => each.key === name);
  if (column) return column;
  return { key: name, of: name, title: say(run.kind === "try" && name === "start" ? "field-begun" : `field-${name}`), unit: name === "heading" ? "deg" : name === "duration" ? "s" : "" };
}

/**
 * A field of a run, with its unit and what is to be said of its value.
 * @param {Unit} run
 * @param {string} name
 * @param {Child} [beside] what stands beside the field
 */
function runField(run, name, beside = null) {
  const words = IN_WORDS.includes(name);
  const field = fieldOf(run, name);
  const key = `${run.id} ${name}`;
  const entry = run.cells[name];
  const input = h("input", {
    id: key,
    "data-key": key,
    value: app.typing[key] ?? entry?.value ?? "",
    inputmode: words ? undefined : "none",
    autocomplete: "off",
    maxlength: words ? 300 : 20,
    readonly: !writable(),
    "aria-describedby": `${key} says`,
    oninput: (/** @type {Event} */ event) => typed(run, name, textOf(event)),
    onchange: () => commitField(run, name),
    onfocus: (/** @type {Event} */ event) => words || showPad(/** @type {HTMLInputElement} */ (event.currentTarget)),
  });
  return h(
    "div",
    { class: words ? "field words" : "field" },
    h("label", { for: key }, name_(field.title), field.unit && field.unit !== "1" ? ` [${field.unit}]` : ""),
    h("span", { class: "entry" }, input, h("span", { class: "kept", "data-kept": name }, keptWords(run, name)), beside),
    h("p", { class: "says", id: `${key} says`, "aria-live": "polite" }, fieldSays(run, name).join(" ")),
  );
}

/**
 * @param {Unit} run
 * @param {string} name
 */
function keptWords(run, name) {
  const entry = run.cells[name];
  const key = `${run.id} ${name}`;
  if (app.typing[key] !== undefined && app.typing[key] !== (entry?.value ?? "")) return say("typing");
  if (!entry) return "";
  if (!isStored(entry)) return say(app.failed ? "not-stored" : "storing");
  if (entry.value === "") return "";
  return entry.from === "typed" ? say("stored") : say("stored-from", { from: say(`from-${entry.from}`) });
}

/**
 * What the rules say of a value, and of its partner's heading.
 * @param {Unit} run
 * @param {string} name
 * @returns {string[]}
 */
function fieldSays(run, name) {
  const key = `${run.id} ${name}`;
  const text = app.typing[key] ?? cell(run, name);
  if (!IN_WORDS.includes(name) && text.trim() && readNumber(text) === undefined) return [say("not-a-number")];
  const of = fieldOf(run, name).of;
  const typing = app.typing[key] === undefined ? {} : { [name]: app.typing[key] };
  const values = workingValues(app.data, run, typing);
  const said = brokenRules(app.data.tests, run.kind === "run" ? run.setPoint : NaN, values, cell(run, "set_aside"))
    .filter((each) => each.of === of)
    .map((each) => say(`rule-${each.rule}`, { said: each.said }));
  if (run.kind === "run" && name === "heading" && values.heading !== undefined) said.push(...headingSays(run, values.heading));
  return said;
}

/**
 * @param {Run} run
 * @param {number} heading
 */
function headingSays(run, heading) {
  const partner = partnerOf(run);
  const other = partner && !cell(partner, "set_aside") ? readNumber(cell(partner, "heading")) : undefined;
  if (other === undefined || !app.data.reciprocal) return [];
  const off = offReciprocal(heading, other);
  return off > app.data.apart ? [say("rule-headings-not-reciprocal", { off: shown(Math.round(off)), other: shown(other) })] : [];
}

/**
 * The other run of a double run that counts, else the last one.
 * @param {Run} run
 */
function partnerOf(run) {
  return app.state.runs
    .filter(
      (each) =>
        each.session === run.session &&
        each.setPoint === run.setPoint &&
        each.doubleRun === run.doubleRun &&
        each.direction !== run.direction,
    )
    .at(-1);
}

/**
 * @param {Unit} run
 * @param {string} name
 * @param {string} text
 */
function typed(run, name, text) {
  const key = `${run.id} ${name}`;
  app.typing[key] = text;
  const says = document.getElementById(`${key} says`);
  if (says) says.textContent = fieldSays(run, name).join(" ");
  const kept = document.getElementById(key)?.parentElement?.querySelector(".kept");
  if (kept) kept.textContent = keptWords(run, name);
}

/**
 * Store what stands in a field, if it is another value than before.
 * @param {Unit} run
 * @param {string} name
 */
function commitField(run, name) {
  const words = IN_WORDS.includes(name);
  const key = `${run.id} ${name}`;
  const text = app.typing[key];
  if (text === undefined) return;
  const value = words ? text.trim() : tableNumber(text);
  const wrong = !words && value !== "" && readNumber(text) === undefined;
  if (wrong || (name === "start" && value !== "" && !START.test(value))) return;
  delete app.typing[key];
  const now = app.state.byId.get(run.id);
  if (!now || value === cell(now, name)) {
    refresh();
    return;
  }
  if (name !== "helmsman") carryHelmsman(now);
  enter(run.id, name, value);
}

const START = /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?$/;

/** Store what is being typed, wherever it is: the page is about to be left or hidden. */
function commitTyping() {
  for (const key of Object.keys(app.typing)) {
    const space = key.indexOf(" ");
    const run = app.state.byId.get(key.slice(0, space));
    const name = key.slice(space + 1);
    if (run) commitField(run, name);
  }
}

// --- the pad -------------------------------------------------------------------------------------

const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", "−", "0", "."];

/** @type {HTMLInputElement | null} */
let padded = null;

/**
 * Show the number pad for a field; it stands beneath the fields and takes no focus away.
 * @param {HTMLInputElement} input
 */
function showPad(input) {
  padded = input;
  const pad = document.getElementById("pad");
  if (pad) pad.hidden = !writable();
}

function padOfNumbers() {
  const keep = (/** @type {Event} */ event) => event.preventDefault(); // the field keeps the focus
  const keys = KEYS.map((each) =>
    h("button", { type: "button", tabindex: -1, onpointerdown: keep, onclick: () => padKey(each) }, each),
  );
  return h(
    "div",
    { id: "pad", class: "pad", role: "group", "aria-label": say("pad"), hidden: !padded?.isConnected },
    keys,
    h("button", { type: "button", tabindex: -1, onpointerdown: keep, onclick: () => padKey("") }, say("pad-back")),
    h("button", { type: "button", tabindex: -1, class: "wide", onpointerdown: keep, onclick: padNext }, say("pad-next")),
  );
}

/**
 * @param {string} key a character, or "" to take the last one away
 */
function padKey(key) {
  const input = padded && document.getElementById(padded.id);
  if (!(input instanceof HTMLInputElement)) return;
  input.value = key === "" ? input.value.slice(0, -1) : key === "−" ? turnSign(input.value) : input.value + key;
  input.dispatchEvent(new Event("input", { bubbles: true }));
  if (document.activeElement !== input) input.focus();
}

/**
 * @param {string} text
 */
function turnSign(text) {
  return /^[-−]/.test(text) ? text.slice(1) : `-${text}`;
}

/** Store the field, and go on to the next one. */
function padNext() {
  const fields = [...document.querySelectorAll(".readings input")];
  const place = padded ? fields.findIndex((each) => each.id === padded?.id) : -1;
  const input = fields[place];
  if (input) input.dispatchEvent(new Event("change"));
  const after = document.getElementById(fields[place + 1]?.id ?? "next");
  if (after) after.focus();
}
