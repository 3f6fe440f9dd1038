"use strict";
// The one state of the page, and the one way that an entry is made.

const CLOCK_SLACK = 5; // [s] by which two clocks of one device may differ between two looks

const app = {
  data: /** @type {SheetData} */ (/** @type {unknown} */ (null)),
  entries: /** @type {Entry[]} */ ([]),
  state: /** @type {State} */ (/** @type {unknown} */ (null)),
  store: /** @type {Store | null} */ (null),
  rehearsal: false,
  night: false,
  screen: "start",
  run: "",
  session: 0,
  readOnly: true,
  waiting: /** @type {Entry[]} */ ([]), // not stored yet, in order
  failed: "", // why the first of them could not be stored
  told: "", // the last thing said to the crew
  restored: 0,
  typing: /** @type {Record<string, string>} */ ({}),
  marks: /** @type {Record<string, number>} */ ({}), // of the steady clock, by what was begun [ms]
  served: false,
};

/** Name of the store: another sheet, or a rehearsal of it, has another one. */
function storeName() {
  return `slackwater-sheet-${app.data.id}${app.rehearsal ? "-rehearsal" : ""}`;
}

function writable() {
  return !app.readOnly;
}

/**
 * Make an entry: it shows at once, and is told as stored once it is on the disk.
 * @param {string} run
 * @param {string} name
 * @param {string} value
 * @param {string} [from] "typed", "clock", "receiver" or "invented"
 * @param {Record<string, number>} [more]
 */
function enter(run, name, value, from = "typed", more) {
  if (!writable()) return;
  const now = new Date();
  const last = app.waiting.at(-1) ?? app.entries.at(-1);
  /** @type {Entry} */
  const entry = {
    n: (last?.n ?? 0) + 1,
    at: now.toISOString(),
    zone: -now.getTimezoneOffset(),
    by: name === "by" ? value : app.state.by,
    run,
    name,
    value,
    from,
    ...(more ? { more } : {}),
  };
  app.waiting.push(entry);
  app.state = foldJournal(app.data, [...app.entries, ...app.waiting]);
  if (app.waiting.length === 1) void storeWaiting();
  refresh();
}

async function storeWaiting() {
  while (app.waiting.length && app.store) {
    const entry = app.waiting[0];
    try {
      await addToStore(app.store, entry);
    } catch (error) {
      const name = error instanceof Error || error instanceof DOMException ? error.name : "";
      if (name === "ConstraintError") await otherWindowWrote();
      else app.failed = say(name === "QuotaExceededError" ? "store-full" : "store-failed");
      refresh();
      return;
    }
    app.failed = "";
    app.entries.push(entry);
    app.waiting.shift();
    refresh();
  }
}

/** Once more, by a database opened anew: a browser lets go of one that it could not write to. */
async function tryAgain() {
  if (!app.store) return;
  app.store.base?.close();
  app.store.base = await openBase(app.store.name);
  await storeWaiting();
}

/** Another window has written although this one held the lock, or there are no locks here. */
async function otherWindowWrote() {
  app.readOnly = true;
  app.told = say("other-window-wrote");
  await readAgain();
}

async function readAgain() {
  if (!app.store) return;
  const { entries, restored } = await readStore(app.store);
  app.entries = entries;
  app.waiting = [];
  app.restored += restored;
  app.state = foldJournal(app.data, entries);
}

/**
 * Whether an entry is on the disk.
 * @param {Entry | undefined} entry
 */
function isStored(entry) {
  return entry !== undefined && !app.waiting.includes(entry);
}

const KEPT = ["undo", "clock", "device"]; // entries that are not taken back

/** The last entry that holds and can be taken back. */
function lastEntry() {
  const all = [...app.entries, ...app.waiting];
  return all.filter((each) => !KEPT.includes(each.name) && !app.state.undone.has(each.n)).at(-1);
}

function undoLast() {
  const last = lastEntry();
  if (!last) return;
  enter("", "undo", String(last.n));
  app.told = say("undone", { what: entryWords(last) });
  refresh();
}

/**
 * What an entry says, in words.
 * @param {Entry} entry
 */
function entryWords(entry) {
  const run = app.state.byId.get(entry.run);
  const title = fieldTitle(entry.name);
  if (entry.name === "undo") return say("entry-undo", { n: entry.value });
  const value = entry.value === "" ? say("nothing") : entry.value;
  return run ? say("entry-run", { run: unitWords(run), title, value }) : say("entry", { title, value });
}

/**
 * @param {string} name
 */
function fieldTitle(name) {
  const all = [app.data.columns, ...(app.data.manoeuvres ?? []).map((each) => each.columns)].flat();
  const column = all.find((each) => each.key === name);
  if (column) return column.title;
  const noted = app.data.noted.find((each) => name.endsWith(` ${each.name}`));
  return noted ? noted.title : say(`field-${name.split(" ")[0]}`);
}

/**
 * @param {Unit} unit
 */
function unitWords(unit) {
  const session = app.data.sessions[unit.session].id;
  if (unit.kind === "slip") return say("slip-words", { session, rater: unit.number });
  if (unit.kind === "try") return say("try-words", { session, what: tryName(unit) });
  return say("run-words", { session, number: unit.number, again: againWords(unit) });
}

/**
 * @param {Noted} unit
 */
function againWords(unit) {
  return unit.attempt > 1 ? say("again", { n: unit.attempt }) : "";
}

/**
 * Manoeuvre, number and way of a try, without its session.
 * @param {Try} each
 */
function tryName(each) {
  const title = app.data.manoeuvres?.[each.manoeuvre]?.title ?? "";
  return say("try-name", { title, turn: each.turn, way: wayOf(each), again: againWords(each) }).trim();
}

/**
 * @param {Try} unit
 */
function wayOf(unit) {
  return unit.direction ? say(`way-${unit.direction}`) : "";
}

/** @type {{at: number, steady: number} | null} */
let lastLook = null;

/** Tell where the clock of the device was set while the page was open, or since the last entry. */
function watchClock() {
  const now = { at: Date.now(), steady: performance.now() };
  const last = app.entries.at(-1);
  let step = 0;
  if (lastLook) step = (now.at - lastLook.at - (now.steady - lastLook.steady)) / 1000;
  else if (last) step = Math.min(0, (now.at - Date.parse(last.at)) / 1000);
  lastLook = now;
  if (Math.abs(step) < CLOCK_SLACK || !writable()) return;
  app.told = say(step > 0 ? "clock-forward" : "clock-back", { s: hours(Math.abs(step)) });
  enter("", "clock", step.toFixed(0), "clock");
}
