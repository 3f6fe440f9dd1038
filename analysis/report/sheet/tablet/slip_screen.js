"use strict";
// What raters score: a page of its own, on which nothing says what is fitted.

/** @returns {Ratings} */
function askedOf() {
  return /** @type {Ratings} */ (app.data.ratings);
}

/** @returns {HTMLElement[]} */
function scoringScreen() {
  const rows = app.data.sessions.map((session, place) =>
    h(
      "li",
      {},
      h(
        "button",
        { type: "button", class: "row", "data-key": `session ${place}`, onclick: () => ((app.session = place), go("raters")) },
        h("b", {}, name_(session.id)),
        h("span", {}, `${session.day}, ${slipsWords(place)}`),
      ),
    ),
  );
  return [h("h1", { tabindex: -1 }, say("sessions")), h("p", {}, say("scoring-why")), h("ul", { class: "list" }, rows)];
}

/**
 * @param {number} session
 */
function slipsWords(session) {
  const own = app.state.slips.filter((each) => each.session === session && statusOf(app.data, each) !== "spoiled");
  return say("slips-made", { made: own.filter((each) => statusOf(app.data, each) === "made").length, all: own.length });
}

/** @returns {HTMLElement[]} */
function ratersScreen() {
  const slips = app.state.slips.filter((each) => each.session === app.session);
  const row = (/** @type {Slip} */ each) => h("button", { type: "button", class: `row ${statusOf(app.data, each)}`, "data-key": each.id, onclick: () => openRun(each.id) }, unitLine(each));
  return [
    h("h1", { tabindex: -1 }, say("scores-after", { session: app.data.sessions[app.session].id })),
    ...howScored(),
    h("p", {}, say("which-rater")),
    h("ul", { class: "list" }, slips.map((each) => h("li", {}, row(each)))),
  ];
}

/** How it is done, and how blind it is. */
function howScored() {
  const { blind } = askedOf();
  return [h("p", {}, say("slip-how"), " ", say(blind ? "slip-blind" : "slip-open")), ...(blind ? [] : [h("p", { class: "do" }, say("slip-not-blind"))])];
}

/**
 * @param {Slip} slip
 * @returns {HTMLElement[]}
 */
function slipScreen(slip) {
  const head = h("h1", { tabindex: -1, class: "run-title" }, unitWords(slip), statusMark(slip));
  const back = button("to-raters", () => go("raters"));
  if (statusOf(app.data, slip) === "made") {
    const mend = button("mend-scores", () => enter(slip.id, "done", ""), { disabled: !writable() });
    return [head, h("p", {}, say("slip-done")), h("div", { class: "buttons tall" }, back, mend)];
  }
  if (statusOf(app.data, slip) === "spoiled") return [head, spoiledPart(slip), h("div", { class: "buttons" }, back)];
  const open = inOrder(slip).filter((item) => !cell(slip, item.name));
  return [
    head,
    ...howScored(),
    ...inOrder(slip).map((item) => itemPart(slip, item)),
    ...(open.length || !askedOf().guess.length ? [] : [guessPart(slip)]),
    runField(slip, "note"),
    h("div", { class: "buttons" }, app.rehearsal ? button("invent", () => inventUnit(slip), { disabled: !writable() }) : null),
    donePart(slip, open),
    spoiledPart(slip),
    h("div", { class: "buttons" }, back),
  ];
}

/**
 * The items in the order of this rater in this session.
 * @param {Slip} slip
 */
function inOrder(slip) {
  const { items, orders, shifts } = askedOf();
  return orders[(shifts[slip.session] + slip.number - 1) % orders.length].map((place) => items[place]);
}

/**
 * An item with its scale, a press a score; the words at both ends stand at both ends.
 * @param {Slip} slip
 * @param {Item} item
 */
function itemPart(slip, item) {
  const points = Array.from({ length: item.highest - item.lowest + 1 }, (_, place) => item.lowest + place);
  const id = `${slip.id} ${item.name}`;
  const words = new Map(item.anchors);
  const between = item.anchors.filter(([place]) => place > item.lowest && place < item.highest);
  return h(
    "section",
    { class: "item", role: "group", "aria-labelledby": id },
    h("h2", { id }, name_(item.title)),
    item.asks ? h("p", {}, name_(item.asks)) : null,
    h("p", { class: "ends" }, h("span", {}, `${item.lowest}: `, name_(words.get(item.lowest) ?? "")), ...between.map(([place, text]) => h("span", {}, `${place}: `, name_(text))), h("span", {}, `${item.highest}: `, name_(words.get(item.highest) ?? ""))),
    h("div", { class: "scale" }, points.map((point) => chosenButton(slip, item.name, String(point), String(point), words.get(point)))),
    h("p", { class: "kept", "data-kept": item.name }, keptWords(slip, item.name)),
  );
}

/**
 * A button that stores an answer, and shows whether it is the one that holds.
 * @param {Slip} slip
 * @param {string} name
 * @param {string} value
 * @param {string} text
 * @param {string} [anchor] what the score stands for
 */
function chosenButton(slip, name, value, text, anchor) {
  const chosen = cell(slip, name) === value;
  const take = () => chosen || enter(slip.id, name, value);
  const label = anchor ? `${text}: ${anchor}` : undefined;
  return h("button", { type: "button", "data-key": `${name} ${value}`, "aria-pressed": String(chosen), "aria-label": label, disabled: !writable(), onclick: take }, text);
}

/**
 * Asked last of all, when every score is given.
 * @param {Slip} slip
 */
function guessPart(slip) {
  const choices = [...askedOf().guess, ["unsure", say("unsure")]];
  const id = `${slip.id} guessed`;
  return h(
    "section",
    { class: "item", role: "group", "aria-labelledby": id },
    h("h2", { id }, say("field-guess")),
    h("p", {}, say("guess-why")),
    h("div", { class: "choices" }, choices.map(([name, title]) => chosenButton(slip, "guess", name, title))),
    h("p", { class: "kept", "data-kept": "guess" }, keptWords(slip, "guess")),
  );
}

/**
 * @param {Slip} slip
 * @param {Item[]} open
 */
function donePart(slip, open) {
  const lacking = open.map((item) => item.title);
  if (!open.length && askedOf().guess.length && !cell(slip, "guess")) lacking.push(say("field-guess"));
  const done = () => (enter(slip.id, "done", "yes"), go("raters"));
  return h(
    "div",
    {},
    lacking.length ? h("p", { class: "says blank" }, say("not-scored", { names: lacking.join(", ") })) : null,
    h("div", { class: "buttons" }, button("slip-end", done, { class: "big", disabled: !writable() || lacking.length > 0 })),
  );
}
