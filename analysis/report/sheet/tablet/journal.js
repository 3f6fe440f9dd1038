"use strict";
// What was entered, in order: entries are added, never changed; what holds now is folded from them.

/**
 * One entry. `run` names a run ("s0r3a1": session, number, attempt), or "" where it concerns none.
 * @typedef {{n: number, at: string, zone: number, by: string, run: string, name: string,
 *   value: string, from: string, more?: Record<string, number>}} Entry
 * @typedef {{id: string, place: number, session: number, attempt: number, number: number,
 *   setPoint: number, doubleRun: number, direction: string, heading: number | null,
 *   fill: number, cells: Record<string, Entry>}} Run
 * @typedef {{runs: Run[], byId: Map<string, Run>, noted: Map<string, Entry>,
 *   undone: Set<number>, by: string, device: string, ready: boolean}} State
 */

/**
 * @param {number} session
 * @param {number} number
 * @param {number} attempt
 */
function runId(session, number, attempt) {
  return `s${session}r${number}a${attempt}`;
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
 * The runs planned and repeated, each with what holds of it.
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
  /** @type {Run[]} */
  const runs = [];
  data.sessions.forEach((session, place) => {
    for (const planned of session.runs) {
      const first = runId(place, planned[0], 1);
      const count = attempts.get(first) ?? 1;
      for (let attempt = 1; attempt <= count; attempt++) {
        runs.push(newRun(place, planned, attempt, runs.length));
      }
    }
  });
  const byId = new Map(runs.map((run) => [run.id, run]));
  const noted = new Map();
  const state = { runs, byId, noted, undone, by: "", device: "", ready: false };
  for (const each of held) applyEntry(state, each);
  return state;
}

/**
 * @param {number} session
 * @param {PlannedRun} planned
 * @param {number} attempt
 * @param {number} place
 * @returns {Run}
 */
function newRun(session, planned, attempt, place) {
  const [number, setPoint, doubleRun, direction, heading = null, fill = 0] = planned;
  const id = runId(session, number, attempt);
  return { id, place, session, attempt, number, setPoint, doubleRun, direction, heading, fill, cells: {} };
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
 * What holds in a cell of a run, as text.
 * @param {Run} run
 * @param {string} name
 */
function cell(run, name) {
  return run.cells[name]?.value ?? "";
}

/**
 * The working values of a run by measure; several engines together, as the analysis takes them.
 * @param {SheetData} data
 * @param {Run} run
 * @param {Record<string, string>} [typing] texts that are being typed and not stored yet, by column
 */
function workingValues(data, run, typing = {}) {
  /** @type {Record<string, number>} */
  const values = {};
  for (const name of ["heading", "duration"]) {
    const value = readNumber(typing[name] ?? cell(run, name));
    if (value !== undefined) values[name] = value;
  }
  for (const measure of data.measures) {
    const own = data.columns.filter((column) => column.of === measure.name);
    const read = own.map((column) => {
      const value = readNumber(typing[column.key] ?? cell(run, column.key));
      return value === undefined ? NaN : column.slope * value + column.offset;
    });
    const total = read.reduce((sum, value) => sum + value, 0);
    if (read.length && Number.isFinite(total)) {
      values[measure.name] = measure.combine === "sum" ? total : total / read.length;
    }
  }
  return values;
}

/**
 * Columns of readings in which nothing was noted.
 * @param {SheetData} data
 * @param {Run} run
 */
function blankColumns(data, run) {
  return data.columns.filter((column) => !cell(run, column.key));
}

/**
 * How far a run is: "spoiled", "made" (recorded and read), "begun" or "open".
 * @param {SheetData} data
 * @param {Run} run
 */
function statusOf(data, run) {
  if (cell(run, "set_aside")) return "spoiled";
  const begun = Object.values(run.cells).some((each) => each.value);
  if (!begun) return "open";
  const whole = cell(run, "start") && cell(run, "duration") && !blankColumns(data, run).length;
  return whole ? "made" : "begun";
}
