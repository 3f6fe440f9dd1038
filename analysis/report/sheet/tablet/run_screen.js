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
  return [
    h("h1", { tabindex: -1, class: "run-title" }, runWords(run), statusMark(run)),
    h("div", { class: "columns" }, h("div", {}, ...runLeft(run)), h("div", {}, ...runRight(run))),
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

let spoiling = "";

/**
 * Setting a run aside, with its reason; a run is repeated, never erased.
 * @param {Run} run
 */
function spoiledPart(run) {
  const off = !writable();
  if (cell(run, "set_aside")) {
    return h(
      "div",
      { class: "spoiled" },
      h("p", {}, say("spoiled-because", { reason: cell(run, "set_aside") })),
      h(
        "div",
        { class: "buttons" },
        button("repeat-run", () => repeatRun(run), { disabled: off || hasLater(run) }),
        app.data.reciprocal && partnerOf(run) ? button("repeat-both", () => repeatBoth(run), { disabled: off || hasLater(run) }) : null,
        button("not-spoiled", () => enter(run.id, "set_aside", ""), { disabled: off }),
      ),
    );
  }
  if (spoiling !== run.id) {
    const open = () => ((spoiling = run.id), refresh());
    return h("div", { class: "buttons" }, button("spoiled", open, { disabled: off, "aria-expanded": "false" }));
  }
  const reasons = ["wake", "traffic", "steering", "engine", "gust", "instrument"].map((each) =>
    h("button", { type: "button", "data-key": each, onclick: () => spoil(run, say(`reason-${each}`)) }, say(`reason-${each}`)),
  );
  return h(
    "div",
    { class: "spoiled", role: "group", "aria-label": say("spoiled") },
    h("p", {}, say("spoiled-why")),
    h("div", { class: "buttons" }, reasons, button("never-mind", () => ((spoiling = ""), refresh()))),
    ownReason(run),
  );
}

/**
 * @param {Run} run
 */
function ownReason(run) {
  const input = h("input", { id: "own-reason", "data-key": "own-reason", maxlength: 300, autocomplete: "off" });
  const take = () => {
    const field = /** @type {HTMLInputElement | null} */ (document.getElementById("own-reason"));
    const text = field?.value.trim() ?? "";
    if (text.length > 2) spoil(run, text);
    else ((app.told = say("reason-needed")), refresh());
  };
  return h("div", { class: "field words" }, h("label", { for: "own-reason" }, say("own-reason")), h("span", { class: "entry" }, input, button("take-reason", take)));
}

/**
 * @param {Run} run
 * @param {string} reason
 */
function spoil(run, reason) {
  spoiling = "";
  enter(run.id, "set_aside", reason);
}

/**
 * @param {Run} run
 */
function hasLater(run) {
  return app.state.runs.some((each) => each.session === run.session && each.number === run.number && each.attempt > run.attempt);
}

/**
 * @param {Run} run
 */
function repeatRun(run) {
  enter(runId(run.session, run.number, 1), "repeat", say("repeated"));
  openRun(runId(run.session, run.number, run.attempt + 1));
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
    enter(runId(partner.session, partner.number, 1), "repeat", say("repeated"));
  }
  enter(runId(run.session, run.number, 1), "repeat", say("repeated"));
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
    h("div", { class: "buttons" }, app.rehearsal ? button("invent", () => inventRun(run), { disabled: !writable() }) : null),
    h("div", { class: "buttons nextline" }, button("previous", () => moveBy(run, -1), { disabled: !neighbour(run, -1) }), nextButton(run)),
    h("details", { class: "mend" }, h("summary", { "data-key": "mend" }, say("mend")), runField(run, "start", true), runField(run, "duration"), runField(run, "note", true)),
    soFar(run),
  ].filter((each) => each !== null);
}

/**
 * @param {Run} run
 */
function nextButton(run) {
  const next = neighbour(run, 1);
  const key = next ? "next-run" : "session-end";
  return button(key, () => (next ? openRun(next.id) : go("session")), { id: "next", class: "big" });
}

/**
 * @param {Run} run
 * @param {number} by
 */
function neighbour(run, by) {
  const own = app.state.runs.filter((each) => each.session === run.session);
  return own[own.findIndex((each) => each.id === run.id) + by];
}

/**
 * @param {Run} run
 * @param {number} by
 */
function moveBy(run, by) {
  const other = neighbour(run, by);
  if (other) openRun(other.id);
}

/**
 * The run before and the run after, in a line each.
 * @param {Run} run
 */
function neighbours(run) {
  const line = (/** @type {string} */ key, /** @type {Run | undefined} */ other) =>
    other ? h("p", {}, h("b", {}, say(key)), ` ${runLine(other)}`) : null;
  return h("div", { class: "neighbours" }, line("next", neighbour(run, 1)), line("last", neighbour(run, -1)));
}

/**
 * @param {Run} run
 */
function runLine(run) {
  const again = run.attempt > 1 ? ` ${say("again", { n: run.attempt })}` : "";
  return `${run.number}${again}: ${shown(run.setPoint)} ${app.data.unit} ${wayWords(run)}, ${say(`status-${statusOf(app.data, run)}`)}`;
}

/**
 * @param {Run} run
 */
function statusMark(run) {
  const status = statusOf(app.data, run);
  return h("span", { class: `mark ${status}` }, say(`status-${status}`));
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
