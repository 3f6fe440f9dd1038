"use strict";
// The screens around the runs: cautions and start, a session, its runs, the history.

/** @returns {HTMLElement[]} */
function startScreen() {
  const { data, state } = app;
  const ready = state.ready;
  return [
    h("h1", { tabindex: -1 }, name_(data.title), data.ratings ? `: ${say("scores")}` : ""),
    data.seal ? h("p", {}, h("strong", {}, data.seal)) : null,
    h("p", {}, [data.boat, say("protocol", { id: data.protocol.id, version: data.protocol.version }), data.order && say("order", { order: data.order })].filter(Boolean).join(" · ")),
    h("section", { class: "cautions" }, h("h2", {}, say("cautions")), h("p", {}, h("strong", {}, data.cautions[0])), h("ul", {}, data.cautions.slice(1).map((each) => h("li", {}, each)))),
    data.ratings ? null : whoField(),
    h("div", { class: "buttons" }, ready ? button("to-sessions", () => go("sessions"), { class: "big" }) : button("understood", () => (enter("", "ready", say("cautions-read")), go("sessions")), { class: "big", disabled: !writable() })),
    h("div", { class: "buttons" }, button(app.rehearsal ? "rehearsal-end" : "rehearsal-start", changeRehearsal)),
    h("p", { class: "small" }, say(app.rehearsal ? "rehearsal-end-why" : "rehearsal-why")),
    h("p", { class: "small" }, say("kept-how")),
  ].filter((each) => each !== null);
}

function whoField() {
  const input = h("input", { id: "who", "data-key": "who", maxlength: 60, autocomplete: "off", value: app.state.by, readonly: !writable(), onchange: (/** @type {Event} */ event) => enter("", "by", textOf(event).trim()) });
  return h("div", { class: "field words" }, h("label", { for: "who" }, say("who")), h("span", { class: "entry" }, input));
}

/** @returns {HTMLElement[]} */
function sessionsScreen() {
  const { data } = app;
  return [
    h("h1", { tabindex: -1 }, say("sessions")),
    h("p", {}, h("b", {}, `${data.order}: `), data.legend.flatMap(([letter, title], place) => [place ? ", " : "", say("letter-is", { letter }), " ", name_(title)])),
    h("ul", { class: "list" }, data.sessions.map((session, place) => h("li", {}, sessionButton(session, place)))),
  ];
}

/**
 * @param {SheetSession} session
 * @param {number} place
 */
function sessionButton(session, place) {
  const done = progressOf(app.data, app.state, place);
  return h(
    "button",
    { type: "button", class: "row", "data-key": `session ${place}`, onclick: () => ((app.session = place), go("session")) },
    h("b", {}, name_(session.id)),
    " ",
    name_(session.title),
    h("span", {}, [session.day, say("runs-made", { made: done.made, all: done.all }), triesWords(place)].filter(Boolean).join(", ")),
  );
}

/**
 * @param {number} session
 */
function triesWords(session) {
  return app.data.manoeuvres ? say("tries-made", triesDone(app.data, app.state, session)) : "";
}

/** @returns {HTMLElement[]} */
function sessionScreen() {
  const { data, state } = app;
  const session = data.sessions[app.session];
  const runs = state.runs.filter((run) => run.session === app.session);
  const open = runs.find((run) => ["open", "begun"].includes(statusOf(data, run)));
  return [
    h("h1", { tabindex: -1 }, name_(session.id), " ", name_(session.title)),
    h("p", {}, `${session.day}, ${say("planned-from", { time: session.begins })}`),
    session.fit_again ? h("p", { class: "do" }, say("fit-again")) : null,
    session.fill_before ? h("p", { class: "do" }, say("fill-session", { l: Math.round(session.fill_before) })) : null,
    data.level_fuel ? h("p", {}, say("level-fuel")) : null,
    h("div", { class: "buttons" }, open ? h("button", { type: "button", class: "big", "data-key": "go-on", onclick: () => openRun(open.id) }, say("go-on", { run: unitLine(open) })) : h("p", { class: "do" }, say("session-done"))),
    data.manoeuvres ? h("div", { class: "buttons" }, h("button", { type: "button", "data-key": "to-tries", onclick: () => go("tries") }, say("to-tries", { done: triesWords(app.session) }))) : null,
    data.then_scored && !open ? h("p", { class: "do" }, say("then-scored")) : null,
    h("details", { class: "mend", open: !runs.some((run) => statusOf(data, run) !== "open") }, h("summary", { "data-key": "noted" }, say("noted")), h("div", { class: "readings" }, notedFields(session))),
    receiverPart(),
    h("h2", {}, say("runs")),
    h("ul", { class: "list" }, runs.map((run) => h("li", {}, h("button", { type: "button", class: `row ${statusOf(data, run)}`, "data-key": run.id, onclick: () => openRun(run.id) }, unitLine(run))))),
  ].filter((each) => each !== null);
}

/**
 * What is noted once a session, with its limit.
 * @param {SheetSession} session
 */
function notedFields(session) {
  return [...app.data.noted, { name: "remark", title: say("field-remark"), limit: "", unit: "" }].map((each) => {
    const name = `${app.session} ${each.name}`;
    const entry = app.state.noted.get(name);
    const id = `noted ${name}`;
    const input = h("input", { id, "data-key": id, maxlength: 200, autocomplete: "off", value: entry?.value ?? "", readonly: !writable(), inputmode: each.unit ? "decimal" : undefined, "aria-describedby": `${id} says`, onchange: (/** @type {Event} */ event) => enter("", `noted ${name}`, notedValue(textOf(event), each.unit)) });
    const kept = entry ? say(isStored(entry) ? "stored" : "storing") : "";
    return h("div", { class: "field words" }, h("label", { for: id }, each.title, each.unit && each.unit !== "1" ? ` [${each.unit}]` : ""), h("span", { class: "entry" }, input, h("span", { class: "kept" }, kept)), h("p", { class: "says", id: `${id} says` }, each.limit));
  });
}

/**
 * @param {string} text
 * @param {string} unit
 */
function notedValue(text, unit) {
  return unit && readNumber(text) !== undefined ? tableNumber(text) : text.trim();
}

function receiverPart() {
  const column = app.data.columns.some((each) => each.of === "speed_over_ground");
  if (!column) return null;
  return h(
    "section",
    {},
    h("h2", {}, say("receiver")),
    h("p", { id: "receiver-says", "aria-live": "polite" }, receiver.said || say(receiver.on ? "receiver-waits" : "receiver-off")),
    h("div", { class: "buttons" }, receiver.on ? button("receiver-stop", stopReceiver) : button("receiver-start", startReceiver, { disabled: !writable() })),
    h("p", { class: "small" }, say("receiver-why")),
  );
}

const MOST_SHOWN = 200; // entries of the history shown at once

/** @returns {HTMLElement[]} */
function historyScreen() {
  const all = [...app.entries, ...app.waiting].reverse().slice(0, MOST_SHOWN);
  return [
    h("h1", { tabindex: -1 }, say("history")),
    h("p", {}, say("history-why", { n: app.entries.length + app.waiting.length, most: MOST_SHOWN })),
    h("ol", { class: "list history", reversed: true }, all.map(historyLine)),
  ];
}

/**
 * @param {Entry} entry
 */
function historyLine(entry) {
  const gone = app.state.undone.has(entry.n);
  const when = new Date(entry.at).toLocaleTimeString("en-GB");
  const parts = [when, entry.by, say(`from-${entry.from}`), say(gone ? "taken-back" : isStored(entry) ? "stored" : "not-stored")].filter(Boolean);
  return h("li", { value: entry.n }, h("span", {}, `${entry.n}. `, name_(entryWords(entry))), h("span", { class: "small" }, ` ${parts.join(", ")}`));
}
