"use strict";
// One run at a time: what to hold, which way, the clock, the readings, what stands around it.

/**
 * @param {Run} run
 */
function bandOf(run) {
  return app.data.bands[shown(run.setPoint)] ?? "";
}

/**
 * @param {Run} run
 */
function wayWords(run) {
  if (!app.data.reciprocal) return run.heading === null ? "" : headingText(run.heading);
  const way = say(run.direction);
  return run.heading === null ? way : `${way} ${headingText(run.heading)}`;
}

/**
 * @param {number} heading
 */
function headingText(heading) {
  return `${String(Math.round(heading) % 360).padStart(3, "0")}°`;
}

/** @returns {HTMLElement[]} */
function runScreen() {
  const run = app.state.byId.get(app.run);
  if (!run) return sessionScreen();
  if (run.kind === "slip") return slipScreen(run);
  const parts = run.kind === "try" ? [tryLeft(run), tryRight(run)] : [runLeft(run), runRight(run)];
  return [
    h("h1", { tabindex: -1, class: "run-title" }, unitWords(run), statusMark(run)),
    h("div", { class: "columns" }, ...parts.map((each) => h("div", {}, ...each))),
  ];
}

/**
 * @param {Run} run
 */
function runLeft(run) {
  return [
    run.fill ? h("p", { class: "do" }, say("fill-before", { l: Math.round(run.fill) })) : null,
    h(
      "div",
      { class: "hold" },
      h("p", { class: "point" }, shown(run.setPoint), " ", h("small", {}, app.data.unit)),
      h("p", { class: "band" }, say("hold", { band: bandOf(run) })),
      h("p", { class: `way ${run.direction}` }, wayWords(run)),
      h("p", { class: "times" }, say("times", { settle: shown(app.data.settle), record: shown(app.data.record) })),
    ),
    h("div", { class: "clockline" }, h("p", { id: "clock", class: "clock", "data-own": "yes" }), h("p", { id: "bell", class: "bell", role: "status", "data-own": "yes" })),
    clockButtons(run),
    spoiledPart(run),
    neighbours(run),
  ].filter((each) => each !== null);
}

/**
 * The one or two buttons that the run's phase asks for.
 * @param {Run} run
 */
function clockButtons(run) {
  const { phase } = phaseOf(run);
  const off = !writable();
  const big = { class: "big", disabled: off };
  const buttons = [];
  if (phase === "ready") buttons.push(button("settle-start", () => enterClock(run, "settle"), big));
  if (phase === "ready" || phase === "settling") {
    buttons.push(button("record-start", () => startRecording(run), phase === "ready" ? { disabled: off } : big));
  }
  if (phase === "recording") buttons.push(button("record-stop", () => stopRecording(run), big));
  return h("div", { class: "buttons" }, buttons);
}

/**
 * @param {Run} run
 */
function startRecording(run) {
  receiver.fixes = [];
  enterClock(run, "start");
}

/**
 * @param {Run} run
 */
function repeatBoth(run) {
  const partner = partnerOf(run);
  if (!partner) return;
  const first = run.number < partner.number ? run : partner;
  if (statusOf(app.data, partner) !== "open") {
    if (!cell(partner, "set_aside")) enter(partner.id, "set_aside", say("reason-partner"));
    enter(unitId("run", partner.session, partner.number, 1), "repeat", say("repeated"));
  }
  enter(unitId("run", run.session, run.number, 1), "repeat", say("repeated"));
  const again = app.state.runs.filter((each) => each.session === first.session && each.number === first.number).at(-1);
  if (again) openRun(again.id);
}

/**
 * @param {Run} run
 */
function runRight(run) {
  const blank = blankColumns(app.data, run).map((column) => column.title);
  const recorded = Boolean(cell(run, "duration"));
  return [
    h("div", { class: "readings" }, app.data.columns.map((column) => runField(run, column.key)), runField(run, "heading")),
    recorded && blank.length && !cell(run, "set_aside") ? h("p", { class: "says blank" }, say("rule-value-missing", { names: blank.join(", ") })) : null,
    padOfNumbers(),
    ...onwards(run),
    h("details", { class: "mend" }, h("summary", { "data-key": "mend" }, say("mend")), runField(run, "start"), runField(run, "duration"), runField(run, "note")),
    soFar(run),
  ].filter((each) => each !== null);
}

/**
 * Current and scatter so far, with what they are.
 * @param {Run} run
 */
function soFar(run) {
  const pairs = doubleRuns(app.data, app.state, run.session);
  const unit = app.data.speed_unit;
  if (!pairs.length) return null;
  const last = pairs[pairs.length - 1];
  const rows = scatterOf(pairs).map((each) =>
    h(
      "tr",
      {},
      h("th", { scope: "row" }, `${shown(each.setPoint)} ${app.data.unit}`),
      h("td", {}, String(each.count)),
      h("td", {}, each.mean.toFixed(2)),
      h("td", {}, Number.isFinite(each.spread) ? each.spread.toFixed(2) : "–"),
    ),
  );
  return h(
    "section",
    { class: "sofar" },
    h("h2", {}, say("so-far")),
    h("p", {}, say("current-so-far", { current: Math.abs(last.current).toFixed(2), unit, way: say(last.current < 0 ? "with-back" : "with-out") })),
    h("table", {}, h("thead", {}, h("tr", {}, ["set-point", "double-runs", "mean-speed", "scatter"].map((key) => h("th", { scope: "col" }, say(`head-${key}`, { unit }))))), h("tbody", {}, rows)),
    h("p", { class: "small" }, say("so-far-why")),
  );
}
