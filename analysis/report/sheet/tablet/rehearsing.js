"use strict";
// Readings made up, to practise with: marked in every row, and kept apart from what is measured.

const INVENTED = "INVENTED";

/**
 * A number between 0 and 1 that depends on the run and the reading alone.
 * @param {string} text
 */
function chanceOf(text) {
  let state = 2166136261;
  for (const each of text) state = Math.imul(state ^ each.charCodeAt(0), 16777619);
  state ^= state >>> 15;
  return ((Math.imul(state, 2246822507) ^ (state >>> 13)) >>> 0) / 4294967296;
}

/**
 * Fill in what a boat that does not exist would have read.
 * @param {Unit} unit
 */
function inventUnit(unit) {
  if (unit.kind === "slip") return inventSlip(unit);
  if (!cell(unit, "start")) enter(unit.id, "start", localTime(new Date()), "invented");
  if (unit.kind === "run" && !cell(unit, "duration")) enter(unit.id, "duration", shown(app.data.record), "invented");
  for (const column of columnsOf(app.data, unit)) {
    if (cell(unit, column.key)) continue;
    const chance = chanceOf(`${unit.id} ${column.key}`) - 0.5;
    const value = unit.kind === "run" ? inventedReading(unit, column) * (1 + 0.004 * chance) : (column.usual[0] ?? 10) * (1 + 0.1 * chance);
    enter(unit.id, column.key, String(Number(value.toPrecision(4))), "invented");
  }
}

/**
 * @param {Run} run
 * @param {Column} column
 */
function inventedReading(run, column) {
  const points = [...new Set(app.data.sessions[run.session].runs.map((each) => each[1]))].sort((a, b) => a - b);
  const place = Math.max(0, points.indexOf(run.setPoint));
  const stream = column.of === "speed_over_ground" ? (run.direction === "back" ? 0.97 : 1.03) : 1;
  return (column.usual[place] ?? 10) * stream;
}

/**
 * @param {Slip} slip
 */
function inventSlip(slip) {
  const { items, guess } = askedOf();
  for (const item of items) {
    const chance = chanceOf(`${slip.id} ${item.name}`);
    if (!cell(slip, item.name)) enter(slip.id, item.name, String(item.lowest + Math.floor(chance * (item.highest - item.lowest + 1))), "invented");
  }
  const choices = [...guess.map(([name]) => name), "unsure"];
  if (guess.length && !cell(slip, "guess")) enter(slip.id, "guess", choices[Math.floor(chanceOf(`${slip.id} guess`) * choices.length)], "invented");
}
