"use strict";
// The tries of manoeuvres: the cautions before them, then one at a time with its clock and its values.

/** @returns {HTMLElement[]} */
function triesScreen() {
  const { data, state } = app;
  const session = data.sessions[app.session];
  const tries = state.tries.filter((each) => each.session === app.session);
  const open = tries.find((each) => ["open", "begun"].includes(statusOf(data, each)));
  const cautions = data.cautions.slice(0, data.try_cautions);
  return [
    h("h1", { tabindex: -1 }, name_(session.id), " ", name_(session.title), ": ", say("manoeuvres")),
    h("section", { class: "cautions" }, h("h2", {}, say("cautions")), h("p", {}, h("strong", {}, cautions[0])), h("ul", {}, cautions.slice(1).map((each) => h("li", {}, each)))),
    h("p", {}, say("tries-why")),
    h("div", { class: "buttons" }, open ? h("button", { type: "button", class: "big", "data-key": "go-on-try", onclick: () => openRun(open.id) }, say("go-on-try", { what: tryName(open) })) : h("p", { class: "do" }, say("tries-done"))),
    ...(data.manoeuvres ?? []).map((_, place) => manoeuvrePart(place, tries.filter((each) => each.manoeuvre === place))),
  ];
}

/**
 * @param {number} place
 * @param {Try[]} tries
 */
function manoeuvrePart(place, tries) {
  const one = manoeuvreOf(place);
  const rows = tries.map((each) =>
    h("li", {}, h("button", { type: "button", class: `row ${statusOf(app.data, each)}`, "data-key": each.id, onclick: () => openRun(each.id) }, unitLine(each))),
  );
  return h("section", {}, h("h2", {}, name_(one.title)), ...endsOf(one), h("ul", { class: "list" }, rows));
}

/**
 * @param {number} place
 */
function manoeuvreOf(place) {
  return /** @type {Manoeuvre} */ (app.data.manoeuvres?.[place]);
}

/**
 * How it starts and ends, and what keeps its track.
 * @param {Manoeuvre} one
 */
function endsOf(one) {
  return [
    h("p", {}, h("b", {}, say("try-starts")), " ", one.start),
    h("p", {}, h("b", {}, say("try-ends")), " ", one.end),
    ...(one.drift ? [h("p", {}, say("keep-track"))] : []),
  ];
}

/**
 * @param {Try} each
 */
function tryLeft(each) {
  const one = manoeuvreOf(each.manoeuvre);
  const started = Boolean(cell(each, "start"));
  const start = button("try-start", () => enterClock(each, "start"), { class: "big", disabled: !writable() });
  return [
    h("p", { class: "do" }, app.data.cautions[1]),
    h(
      "div",
      { class: "hold" },
      h("p", { class: "band" }, name_(one.title), ", ", say("try-turn", { turn: each.turn })),
      each.direction ? h("p", { class: `way ${each.direction}` }, wayOf(each).toUpperCase()) : null,
      ...endsOf(one),
    ),
    h("div", { class: "clockline" }, h("p", { id: "clock", class: "clock", "data-own": "yes" }), h("p", { id: "bell", class: "bell", role: "status", "data-own": "yes" })),
    h("div", { class: "buttons" }, started || statusOf(app.data, each) === "spoiled" ? null : start),
    spoiledPart(each),
    neighbours(each),
  ];
}

/**
 * @param {Try} each
 */
function tryRight(each) {
  const columns = columnsOf(app.data, each);
  return [
    h("div", { class: "readings" }, columns.map((column) => runField(each, column.key, nowButton(each, column)))),
    padOfNumbers(),
    runField(each, "helmsman"),
    ...onwards(each),
    h("details", { class: "mend" }, h("summary", { "data-key": "mend" }, say("mend")), runField(each, "start"), runField(each, "note")),
  ];
}

/**
 * For a time that runs from the start of the try: a press takes it from the clock.
 * @param {Try} each
 * @param {Column} column
 */
function nowButton(each, column) {
  const start = each.cells.start;
  const runs = start?.value && statusOf(app.data, each) !== "spoiled";
  if (!column.per_second || !runs || cell(each, column.key)) return null;
  const take = () => {
    delete app.typing[`${each.id} ${column.key}`];
    const tenths = Math.round(10 * secondsSince(start)) / 10;
    enter(each.id, column.key, shown(Number((tenths * (column.per_second ?? 1)).toPrecision(6))), "clock");
  };
  return button("now", take, { "data-key": `now ${column.key}`, "aria-label": say("now-of", { title: column.title }), disabled: !writable() });
}

/**
 * Who steers stays until another is named: what is noted first of a try brings the name along.
 * @param {Unit} unit
 */
function carryHelmsman(unit) {
  if (unit.kind !== "try" || statusOf(app.data, unit) !== "open") return;
  const before = siblings(unit).slice(0, siblings(unit).findIndex((each) => each.id === unit.id));
  const last = before.map((each) => cell(each, "helmsman")).filter(Boolean).at(-1);
  if (last) enter(unit.id, "helmsman", last, "before");
}
