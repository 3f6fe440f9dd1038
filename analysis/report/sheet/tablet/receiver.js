"use strict";
// Speed and course from the device's own receiver, averaged over a recording; typed values stay.

const receiver = {
  on: false,
  watch: 0,
  said: "",
  fixes: /** @type {{speed: number, course: number, accuracy: number}[]} */ ([]),
};

/** Ask the device for its position; the browser asks the user. */
function startReceiver() {
  if (!navigator.geolocation || !window.isSecureContext) {
    receiver.said = say("receiver-none");
    refresh();
    return;
  }
  receiver.on = true;
  receiver.said = say("receiver-waits");
  receiver.watch = navigator.geolocation.watchPosition(takeFix, noFix, {
    enableHighAccuracy: true,
    maximumAge: 0,
    timeout: 30000,
  });
  refresh();
}

function stopReceiver() {
  navigator.geolocation.clearWatch(receiver.watch);
  receiver.on = false;
  receiver.said = "";
  refresh();
}

/**
 * @param {GeolocationPosition} position
 */
function takeFix(position) {
  const { speed, heading, accuracy } = position.coords;
  receiver.said = say("receiver-fix", { m: shown(Math.round(accuracy)) });
  const line = document.getElementById("receiver-says");
  if (line) line.textContent = receiver.said;
  const run = app.state.byId.get(app.run);
  if (run?.kind !== "run" || phaseOf(run).phase !== "recording" || speed === null) return;
  receiver.fixes.push({ speed, course: heading ?? NaN, accuracy });
}

/**
 * @param {GeolocationPositionError} error
 */
function noFix(error) {
  if (error.code === error.PERMISSION_DENIED) receiver.on = false;
  receiver.said = say(error.code === error.PERMISSION_DENIED ? "receiver-denied" : "receiver-silent");
  refresh();
}

/**
 * Fill in what the receiver saw of a recording; what was typed is never replaced.
 * @param {Run} run
 */
function takeFixes(run) {
  const fixes = receiver.fixes;
  receiver.fixes = [];
  if (!fixes.length) return;
  const seen = averageFixes(fixes);
  const more = { fixes: seen.fixes, scatter: 0, accuracy: seen.accuracy };
  const column = app.data.columns.find((each) => each.of === "speed_over_ground");
  const perUnit = app.data.per_knot;
  const speed = (seen.speed * 3600) / 1852 / perUnit;
  if (Number.isFinite(seen.scatter)) more.scatter = round4((seen.scatter * 3600) / 1852 / perUnit);
  if (column && Number.isFinite(speed) && !cell(run, column.key)) {
    enter(run.id, column.key, speed.toFixed(2), "receiver", more);
  }
  if (Number.isFinite(seen.course) && !cell(run, "heading")) {
    enter(run.id, "heading", (Math.round(seen.course * 10) / 10).toFixed(1).replace("360.0", "0.0"), "receiver", more);
  }
}

/**
 * @param {number} value
 */
function round4(value) {
  return Math.round(value * 1e4) / 1e4;
}
