"use strict";
// What was entered, in order: entries are added, never changed; what holds now is folded from them.

/**
 * One entry. `run` names what it is about ("s0r3a1": session, run 3, attempt; "t" for tries, "p" for what one
 * rater scores), or "".
 * @typedef {{n: number, at: string, zone: number, by: string, run: string, name: string,
 *   value: string, from: string, more?: Record<string, number>}} Entry
 * @typedef {{id: string, session: number, attempt: number, number: number, cells: Record<string, Entry>}} Noted
 * @typedef {Noted & {kind: "run", setPoint: number, doubleRun: number, direction: string,
 *   heading: number | null, fill: number}} Run
 * @typedef {Noted & {kind: "try", manoeuvre: number, turn: number, direction: string}} Try
 * @typedef {Noted & {kind: "slip"}} Slip
 * @typedef {Run | Try | Slip} Unit
 * @typedef {{runs: Run[], tries: Try[], slips: Slip[], byId: Map<string, Unit>, noted: Map<string, Entry>,
 *   undone: Set<number>, by: string, device: string, ready: boolean}} State
 */

const LETTERS = { run: "r", try: "t", slip: "p" };

/**
 * @param {Unit["kind"]} kind
 * @param {number} session
 * @param {number} number
 * @param {number} attempt
 */
function unitId(kind, session, number, attempt) {
  return `s${session}${LETTERS[kind]}${number}a${attempt}`;
}

/**
 * Entries that were taken back; an entry that takes back can itself be taken back.
 * @param {Entry[]} entries
 */
function undoneEntries(entries) {
  const undone = new Set();
  for (let i = entries.length - 1; i >= 0; i--) {
    const each = entries[i];
    if (each.name === "undo" && !undone.has(each.n)) undone.add(Number(each.value));
  }
  return undone;
}

/**
 * The runs, tries and raters' slips planned and repeated, each with what holds of it.
 * @param {SheetData} data
 * @param {Entry[]} entries
 * @returns {State}
 */
function foldJournal(data, entries) {
  const undone = undoneEntries(entries);
  const held = entries.filter((each) => !undone.has(each.n) && each.name !== "undo");
  /** @type {Map<string, number>} */
  const attempts = new Map();
  for (const each of held) {
    if (each.name === "repeat") attempts.set(each.run, (attempts.get(each.run) ?? 1) + 1);
  }
  /** @type {(kind: Unit["kind"], session: number, number: number) => Noted[]} */
  const planned = (kind, session, number) => {
    const count = attempts.get(unitId(kind, session, number, 1)) ?? 1;
    const ids = Array.from({ length: count }, (_, place) => unitId(kind, session, number, place + 1));
    return ids.map((id, place) => ({ id, session, attempt: place + 1, number, cells: {} }));
  };
  /** @type {Run[]} */
  const runs = [];
  /** @type {Try[]} */
  const tries = [];
  /** @type {Slip[]} */
  const slips = [];
  const turns = (data.manoeuvres ?? []).flatMap((each, place) => each.tries.map(([turn, direction]) => ({ manoeuvre: place, turn, direction })));
  data.sessions.forEach((session, place) => {
    for (const own of session.runs) runs.push(...planned("run", place, own[0]).map((each) => newRun(each, own)));
    turns.forEach((own, number) => tries.push(...planned("try", place, number + 1).map((each) => newTry(each, own))));
    for (let rater = 1; rater <= (data.ratings?.raters ?? 0); rater++) slips.push({ kind: "slip", ...planned("slip", place, rater)[0] });
  });
  const byId = new Map([...runs, ...tries, ...slips].map((each) => [each.id, each]));
  const state = { runs, tries, slips, byId, noted: new Map(), undone, by: "", device: "", ready: false };
  for (const each of held) applyEntry(state, each);
  return state;
}

/**
 * @param {Noted} each
 * @param {PlannedRun} planned
 * @returns {Run}
 */
function newRun(each, planned) {
  const [, setPoint, doubleRun, direction, heading = null, fill = 0] = planned;
  return { kind: "run", ...each, setPoint, doubleRun, direction, heading, fill };
}

/**
 * @param {Noted} each
 * @param {{manoeuvre: number, turn: number, direction: string}} planned
 * @returns {Try}
 */
function newTry(each, planned) {
  return { kind: "try", ...each, ...planned };
}

/**
 * @param {State} state
 * @param {Entry} each
 */
function applyEntry(state, each) {
  const run = state.byId.get(each.run);
  if (each.name === "by") state.by = each.value;
  else if (each.name === "device") state.device = each.value;
  else if (each.name === "ready") state.ready = true;
  else if (each.name.startsWith("noted ")) state.noted.set(each.name.slice(6), each);
  else if (run && each.name !== "repeat") run.cells[each.name] = each;
}

/**
 * What holds in a cell, as text.
 * @param {Noted} run
 * @param {string} name
 */
function cell(run, name) {
  return run.cells[name]?.value ?? "";
}

/**
 * The columns that are read of it.
 * @param {SheetData} data
 * @param {Unit} unit
 */
function columnsOf(data, unit) {
  if (unit.kind === "slip") return [];
  return unit.kind === "run" ? data.columns : (data.manoeuvres?.[unit.manoeuvre]?.columns ?? []);
}

/**
 * The working values by measure; several engines together, as the analysis takes them.
 * @param {SheetData} data
 * @param {Unit} unit
 * @param {Record<string, string>} [typing] texts that are being typed and not stored yet, by column
 */
function workingValues(data, unit, typing = {}) {
  /** @type {Record<string, number>} */
  const values = {};
  for (const name of ["heading", "duration"]) {
    const value = readNumber(typing[name] ?? cell(unit, name));
    if (value !== undefined) values[name] = value;
  }
  const columns = columnsOf(data, unit);
  for (const name of new Set(columns.map((column) => column.of))) {
    const own = columns.filter((column) => column.of === name);
    const read = own.map((column) => {
      const value = readNumber(typing[column.key] ?? cell(unit, column.key));
      return value === undefined ? NaN : column.slope * value + column.offset;
    });
    const total = read.reduce((sum, value) => sum + value, 0);
    if (!Number.isFinite(total)) continue;
    const sums = data.measures.some((measure) => measure.name === name && measure.combine === "sum");
    values[name] = sums ? total : total / read.length;
  }
  return values;
}

/**
 * Columns of readings in which nothing was noted.
 * @param {SheetData} data
 * @param {Unit} unit
 */
function blankColumns(data, unit) {
  return columnsOf(data, unit).filter((column) => !cell(unit, column.key));
}

/**
 * How far it is: "spoiled", "made" (recorded and read; of scores: all given and the device handed on), "begun"
 * or "open".
 * @param {SheetData} data
 * @param {Unit} unit
 */
function statusOf(data, unit) {
  if (cell(unit, "set_aside")) return "spoiled";
  const begun = Object.values(unit.cells).some((each) => each.value);
  if (!begun) return "open";
  if (unit.kind === "slip") return cell(unit, "done") ? "made" : "begun";
  const recorded = unit.kind === "try" || (cell(unit, "start") && cell(unit, "duration"));
  return recorded && !blankColumns(data, unit).length ? "made" : "begun";
}
