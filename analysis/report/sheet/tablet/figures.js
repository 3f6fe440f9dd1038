"use strict";
// What the crew are told on the way: current and scatter so far, what is left. No verdict is made here.

/**
 * @param {number[]} values
 */
function meanOf(values) {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/**
 * Sample standard deviation; NaN of fewer than two.
 * @param {number[]} values
 */
function spreadOf(values) {
  if (values.length < 2) return NaN;
  const middle = meanOf(values);
  return Math.sqrt(values.reduce((sum, v) => sum + (v - middle) ** 2, 0) / (values.length - 1));
}

/**
 * The double runs of a session that are whole: mean and half the difference of out and back.
 * @param {SheetData} data
 * @param {State} state
 * @param {number} session
 * @returns {{setPoint: number, doubleRun: number, speed: number, current: number}[]}
 */
function doubleRuns(data, state, session) {
  if (!data.speed || !data.reciprocal) return [];
  /** @type {Map<string, {setPoint: number, doubleRun: number, out?: number, back?: number}>} */
  const pairs = new Map();
  for (const run of state.runs) {
    if (run.session !== session || cell(run, "set_aside")) continue;
    const speed = workingValues(data, run)[data.speed];
    if (speed === undefined) continue;
    const key = `${run.setPoint} ${run.doubleRun}`;
    const pair = pairs.get(key) ?? { setPoint: run.setPoint, doubleRun: run.doubleRun };
    if (run.direction === "out") pair.out = speed;
    else pair.back = speed;
    pairs.set(key, pair);
  }
  const found = [];
  for (const { setPoint, doubleRun, out, back } of pairs.values()) {
    if (out === undefined || back === undefined) continue;
    found.push({ setPoint, doubleRun, speed: (out + back) / 2, current: (out - back) / 2 });
  }
  return found;
}

/**
 * Scatter of the double runs at each set point that has two or more.
 * @param {{setPoint: number, speed: number}[]} pairs
 */
function scatterOf(pairs) {
  /** @type {Map<number, number[]>} */
  const groups = new Map();
  for (const pair of pairs) groups.set(pair.setPoint, [...(groups.get(pair.setPoint) ?? []), pair.speed]);
  return [...groups]
    .sort((one, other) => one[0] - other[0])
    .map(([setPoint, speeds]) => ({ setPoint, count: speeds.length, mean: meanOf(speeds), spread: spreadOf(speeds) }));
}

/**
 * How far a session is: runs made, runs to be made in all, and the time that is left. [s]
 * @param {SheetData} data
 * @param {State} state
 * @param {number} session
 */
function progressOf(data, state, session) {
  const runs = state.runs.filter((run) => run.session === session);
  const counted = runs.filter((run) => statusOf(data, run) !== "spoiled");
  const made = counted.filter((run) => statusOf(data, run) === "made").length;
  const left = counted.filter((run) => statusOf(data, run) !== "made");
  const fills = left.filter((run) => run.fill > 0).length;
  const seconds = left.length * (data.settle + data.record + data.turn) + fills * data.fill;
  return { made, all: counted.length, left: left.length, seconds };
}

/**
 * How many tries of a session are made, of those to be made in all.
 * @param {SheetData} data
 * @param {State} state
 * @param {number} session
 */
function triesDone(data, state, session) {
  const counted = state.tries.filter((each) => each.session === session && statusOf(data, each) !== "spoiled");
  return { made: counted.filter((each) => statusOf(data, each) === "made").length, all: counted.length };
}

/**
 * Speed and course of a recording from the fixes of a receiver.
 *
 * The course is that of the mean of the fixes' velocities, so that north makes no jump in it.
 * @param {{speed: number, course: number, accuracy: number}[]} fixes speed in m/s, course in deg
 */
function averageFixes(fixes) {
  const told = fixes.filter((fix) => Number.isFinite(fix.speed));
  const turned = told.filter((fix) => Number.isFinite(fix.course) && fix.speed > 0);
  const rad = Math.PI / 180;
  const north = turned.reduce((sum, fix) => sum + fix.speed * Math.cos(fix.course * rad), 0);
  const east = turned.reduce((sum, fix) => sum + fix.speed * Math.sin(fix.course * rad), 0);
  const still = Math.hypot(north, east) < 1e-9;
  return {
    fixes: told.length,
    speed: told.length ? meanOf(told.map((fix) => fix.speed)) : NaN,
    scatter: spreadOf(told.map((fix) => fix.speed)),
    course: still ? NaN : (Math.atan2(east, north) / rad + 360) % 360,
    accuracy: told.length ? Math.max(...told.map((fix) => fix.accuracy)) : NaN,
  };
}
