"use strict";
// What runs, tries and slips have alike: setting aside and repeating, what stands before and after, going on.

let spoiling = "";

const REASONS = {
  run: ["wake", "traffic", "steering", "engine", "gust", "instrument"],
  try: ["safety", "beginning", "traffic", "wake", "gust", "instrument"],
  slip: ["absent", "unwell", "told"],
};

/**
 * Setting it aside, with its reason; it is repeated, never erased.
 * @param {Unit} unit
 */
function spoiledPart(unit) {
  const off = !writable();
  if (cell(unit, "set_aside")) return asidePart(unit);
  if (spoiling !== unit.id) {
    const open = () => ((spoiling = unit.id), refresh());
    return h("div", { class: "buttons" }, button(unit.kind === "slip" ? "no-score" : "spoiled", open, { disabled: off, "aria-expanded": "false" }));
  }
  const reasons = REASONS[unit.kind].map((each) =>
    h("button", { type: "button", "data-key": each, onclick: () => spoil(unit, say(`reason-${each}`)) }, say(`reason-${each}`)),
  );
  return h(
    "div",
    { class: "spoiled", role: "group", "aria-label": say("spoiled") },
    h("p", {}, say("spoiled-why")),
    h("div", { class: "buttons" }, reasons, button("never-mind", () => ((spoiling = ""), refresh()))),
    ownReason(unit),
  );
}

/**
 * @param {Unit} unit
 */
function asidePart(unit) {
  const off = !writable();
  const later = hasLater(unit);
  const again = () => repeatUnit(unit);
  return h(
    "div",
    { class: "spoiled" },
    h("p", {}, say("spoiled-because", { reason: cell(unit, "set_aside") })),
    h(
      "div",
      { class: "buttons" },
      unit.kind === "slip" ? null : button(unit.kind === "run" ? "repeat-run" : "repeat-try", again, { disabled: off || later }),
      unit.kind === "run" && app.data.reciprocal && partnerOf(unit) ? button("repeat-both", () => repeatBoth(unit), { disabled: off || later }) : null,
      // Two tries of one number cannot both count.
      button("not-spoiled", () => enter(unit.id, "set_aside", ""), { disabled: off || (unit.kind === "try" && later) }),
    ),
  );
}

/**
 * @param {Unit} unit
 */
function ownReason(unit) {
  const input = h("input", { id: "own-reason", "data-key": "own-reason", maxlength: 300, autocomplete: "off" });
  const take = () => {
    const field = /** @type {HTMLInputElement | null} */ (document.getElementById("own-reason"));
    const text = field?.value.trim() ?? "";
    if (text.length > 2) spoil(unit, text);
    else ((app.told = say("reason-needed")), refresh());
  };
  return h("div", { class: "field words" }, h("label", { for: "own-reason" }, say("own-reason")), h("span", { class: "entry" }, input, button("take-reason", take)));
}

/**
 * @param {Unit} unit
 * @param {string} reason
 */
function spoil(unit, reason) {
  spoiling = "";
  carryHelmsman(unit);
  enter(unit.id, "set_aside", reason);
}

/**
 * Those of its kind in its session, in the order in which they are to be made.
 * @param {Unit} unit
 * @returns {Unit[]}
 */
function siblings(unit) {
  const { runs, tries, slips } = app.state;
  /** @type {Unit[]} */
  const all = { run: runs, try: tries, slip: slips }[unit.kind];
  return all.filter((each) => each.session === unit.session);
}

/**
 * @param {Unit} unit
 */
function hasLater(unit) {
  return siblings(unit).some((each) => each.number === unit.number && each.attempt > unit.attempt);
}

/**
 * @param {Unit} unit
 */
function repeatUnit(unit) {
  enter(unitId(unit.kind, unit.session, unit.number, 1), "repeat", say("repeated"));
  openRun(unitId(unit.kind, unit.session, unit.number, unit.attempt + 1));
}

/** @type {Record<string, {before: string, next: string, end: string, screen: string}>} */
const ONWARDS = {
  run: { before: "previous", next: "next-run", end: "session-end", screen: "session" },
  try: { before: "previous-try", next: "next-try", end: "tries-end", screen: "tries" },
};

/**
 * Before and after it, and in a rehearsal the readings made up.
 * @param {Unit} unit
 */
function onwards(unit) {
  const before = button(ONWARDS[unit.kind].before, () => goBy(unit, -1), { disabled: !neighbour(unit, -1) });
  return [
    h("div", { class: "buttons" }, app.rehearsal ? button("invent", () => inventUnit(unit), { disabled: !writable() }) : null),
    h("div", { class: "buttons nextline" }, before, nextButton(unit)),
  ];
}

/**
 * @param {Unit} unit
 */
function nextButton(unit) {
  const next = neighbour(unit, 1);
  const words = ONWARDS[unit.kind];
  return button(next ? words.next : words.end, () => (next ? openRun(next.id) : go(words.screen)), { id: "next", class: "big" });
}

/**
 * @param {Unit} unit
 * @param {number} by
 */
function neighbour(unit, by) {
  const own = siblings(unit);
  return own[own.findIndex((each) => each.id === unit.id) + by];
}

/**
 * @param {Unit} unit
 * @param {number} by
 */
function goBy(unit, by) {
  const other = neighbour(unit, by);
  if (other) openRun(other.id);
}

/**
 * What comes before and after, in a line each.
 * @param {Unit} unit
 */
function neighbours(unit) {
  const line = (/** @type {string} */ key, /** @type {Unit | undefined} */ other) =>
    other ? h("p", {}, h("b", {}, say(key)), ` ${unitLine(other)}`) : null;
  return h("div", { class: "neighbours" }, line("next", neighbour(unit, 1)), line("last", neighbour(unit, -1)));
}

/**
 * @param {Unit} unit
 */
function unitLine(unit) {
  const status = statusWords(unit);
  if (unit.kind === "try") return `${tryName(unit)}, ${status}`;
  if (unit.kind === "slip") return `${say("rater", { rater: unit.number })}: ${status}`;
  const again = unit.attempt > 1 ? ` ${againWords(unit)}` : "";
  return `${unit.number}${again}: ${shown(unit.setPoint)} ${app.data.unit} ${wayWords(unit)}, ${status}`;
}

/**
 * @param {Unit} unit
 */
function statusWords(unit) {
  const status = statusOf(app.data, unit);
  return say(`status-${unit.kind === "slip" && status === "made" ? "scored" : status}`);
}

/**
 * @param {Unit} unit
 */
function statusMark(unit) {
  return h("span", { class: `mark ${statusOf(app.data, unit)}` }, statusWords(unit));
}
