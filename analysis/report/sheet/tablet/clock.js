"use strict";
// The phases of a run by the clock, and the bell that can be seen.

/**
 * Seconds since something was entered; by the steady clock where the page was open then.
 * @param {Entry} entry
 */
function secondsSince(entry) {
  const mark = app.marks[`${entry.run} ${entry.name} ${entry.value}`];
  const passed = mark === undefined ? Date.now() - Date.parse(entry.at) : performance.now() - mark;
  return Math.max(0, passed / 1000);
}

/**
 * Enter something that the time is counted from.
 * @param {Unit} run
 * @param {string} name
 */
function enterClock(run, name) {
  carryHelmsman(run);
  const value = localTime(new Date());
  app.marks[`${run.id} ${name} ${value}`] = performance.now();
  enter(run.id, name, value, "clock");
}

/**
 * Where a run or try is: its phase, the seconds in it, and what the bell says, if it rings.
 * @param {Run | Try} run
 */
function phaseOf(run) {
  if (run.kind === "try") return tryPhase(run);
  const { start, duration, settle, set_aside } = run.cells;
  if (set_aside?.value) return { phase: "spoiled", seconds: 0, bell: "" };
  if (start?.value && duration?.value) return { phase: "recorded", seconds: Number(duration.value), bell: "" };
  if (start?.value) {
    const seconds = secondsSince(start);
    return { phase: "recording", seconds, bell: seconds >= app.data.record ? "bell-stop" : "" };
  }
  if (settle?.value) {
    const seconds = secondsSince(settle);
    return { phase: "settling", seconds, bell: seconds >= app.data.settle ? "bell-record" : "" };
  }
  return { phase: "ready", seconds: 0, bell: "" };
}

/**
 * @param {Try} each
 */
function tryPhase(each) {
  const status = statusOf(app.data, each);
  const { start } = each.cells;
  if (status === "spoiled" || status === "made") return { phase: status === "made" ? "tried" : status, seconds: 0, bell: "" };
  if (start?.value) return { phase: "trying", seconds: secondsSince(start), bell: "" };
  return { phase: "to-try", seconds: 0, bell: "" };
}

/**
 * @param {number} seconds
 */
function clockText(seconds) {
  const whole = Math.floor(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

/** Bring the running clock and the bell up to date, and nothing else of the page. */
function tick() {
  const run = app.screen === "run" ? app.state.byId.get(app.run) : undefined;
  const clock = document.getElementById("clock");
  const bell = document.getElementById("bell");
  if (!run || run.kind === "slip" || !clock || !bell) return;
  const now = phaseOf(run);
  const whole = now.phase === "recording" ? app.data.record : app.data.settle;
  const running = now.phase === "recording" || now.phase === "settling";
  const left = whole - now.seconds;
  const text = running ? clockText(now.bell ? now.seconds : Math.ceil(left)) : clockText(now.seconds);
  if (clock.textContent !== text) clock.textContent = text;
  const key = now.bell || `phase-${now.phase}`;
  if (bell.dataset.says === key) return;
  bell.dataset.says = key;
  bell.textContent = say(key, { s: shown(whole) });
  bell.classList.toggle("rings", now.bell !== "");
  if (now.bell && "vibrate" in navigator) navigator.vibrate([400, 200, 400]);
}

/**
 * @param {Run} run
 */
function stopRecording(run) {
  const start = run.cells.start;
  if (!start) return;
  const seconds = Math.round(10 * secondsSince(start)) / 10;
  enter(run.id, "duration", String(seconds), "clock");
  takeFixes(run);
}
