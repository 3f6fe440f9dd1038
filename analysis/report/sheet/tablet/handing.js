"use strict";
// Handing back: the run table as CSV, everything with its history as JSON, by file, clipboard, codes or wire.

const FORMULA = /^[=+\-@\t\r]/;

/**
 * A table with its name, the headings of its columns by their keys, and its rows of cells by the same keys.
 * @typedef {{name: string, head: [string, string][], rows: Record<string, string>[]}} Handed
 */

/**
 * A row: what names it, then its cells by the keys of the table's columns.
 * @param {Record<string, string>} row
 * @param {[string, string][]} head
 * @param {Unit} unit
 */
function withCells(row, head, unit) {
  for (const [key] of head) if (!(key in row)) row[key] = cell(unit, key);
  if (app.rehearsal) row.note = row.note ? `${INVENTED}. ${row.note}` : INVENTED;
  return row;
}

/**
 * @param {Run} run
 */
function rowOf(run) {
  const session = app.data.sessions[run.session].id;
  return withCells({ session, set_point: shown(run.setPoint), double_run: String(run.doubleRun), direction: run.direction }, app.data.head, run);
}

/** Rows of the sessions that were begun; runs not made in them stay blank. */
function rowsHandedBack() {
  const begun = new Set(app.state.runs.filter((run) => statusOf(app.data, run) !== "open").map((run) => run.session));
  return app.state.runs.filter((run) => begun.has(run.session)).map(rowOf);
}

/**
 * @param {Try} each
 */
function tryRow(each) {
  const session = app.data.sessions[each.session].id;
  const manoeuvre = manoeuvreOf(each.manoeuvre).name;
  return withCells({ session, manoeuvre, direction: each.direction, try: String(each.turn) }, app.data.try_head ?? [], each);
}

/** Rows of the tries of which there is anything to tell; one without a value is no row of their table. */
function triesHandedBack() {
  const told = (/** @type {Try} */ each) => cell(each, "set_aside") || cell(each, "note") || columnsOf(app.data, each).some((column) => cell(each, column.key));
  return app.state.tries.filter(told).map(tryRow);
}

/**
 * A row for each item that was scored, or for all of them where the rater could not score.
 * @param {Slip} slip
 */
function slipRows(slip) {
  const { items, head } = askedOf();
  const session = app.data.sessions[slip.session].id;
  const told = items.filter((item) => cell(slip, item.name) || cell(slip, "set_aside"));
  return told.map((item, place) => withCells({ session, item: item.name, rater: `R${slip.number}`, score: cell(slip, item.name), ...(place ? { note: "" } : {}) }, head, slip));
}

/** Every table that this page hands rows back of. */
function tablesHandedBack() {
  if (app.data.ratings) return [{ name: "ratings", head: app.data.ratings.head, rows: app.state.slips.flatMap(slipRows) }];
  /** @type {Handed[]} */
  const found = [{ name: "runs", head: app.data.head, rows: rowsHandedBack() }];
  if (app.data.try_head) found.push({ name: "tries", head: app.data.try_head, rows: triesHandedBack() });
  return found;
}

/**
 * A text as a cell of CSV; one that a spreadsheet would take for a formula is kept from being one.
 * @param {string} text
 */
function csvCell(text) {
  const safe = FORMULA.test(text) && readNumber(text) === undefined ? ` ${text}` : text;
  return /[",\r\n]/.test(safe) || safe !== safe.trim() ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/**
 * A table as CSV.
 * @param {string} [name]
 */
function tableText(name = "runs") {
  const table = tablesHandedBack().find((each) => each.name === name);
  if (!table) return "";
  const lines = [table.head.map(([, heading]) => csvCell(heading)).join(",")];
  for (const row of table.rows) lines.push(table.head.map(([key]) => csvCell(row[key] ?? "")).join(","));
  return `${lines.join("\n")}\n`;
}

function aboardText() {
  const { data } = app;
  const tables = tablesHandedBack();
  const runs = tables.find((each) => each.name === "runs");
  const others = tables.filter((each) => each !== runs);
  const noted = (data.ratings ? [] : data.sessions).map((session, place) => {
    const own = data.noted.map((each) => [each.name, app.state.noted.get(`${place} ${each.name}`)?.value ?? "", each.unit]);
    const remark = app.state.noted.get(`${place} remark`)?.value ?? "";
    const found = Object.fromEntries(own.filter((each) => each[1]).map(([name, value, unit]) => [name, unit && unit !== "1" && readNumber(value) !== undefined ? `${value} ${unit}` : value]));
    return { id: session.id, configuration: session.configuration, noted: found, remark };
  });
  const body = {
    schema: 1,
    tool: data.tool,
    kind: "aboard",
    sheet: data.id,
    trial: data.trial,
    protocol: data.protocol,
    rehearsal: app.rehearsal,
    device: app.state.device,
    written: new Date().toISOString(),
    head: Object.fromEntries(runs?.head ?? []),
    rows: runs?.rows ?? [],
    ...Object.fromEntries(others.map(({ name, head, rows }) => [name, { head: Object.fromEntries(head), rows }])),
    sessions: noted.filter((each) => Object.keys(each.noted).length || each.remark),
    journal: app.entries,
  };
  return `${JSON.stringify(body)}\n`;
}

function fileStem() {
  const mark = app.rehearsal ? "rehearsal-INVENTED-" : "";
  return `${mark}${app.data.trial || app.data.protocol.id}-${app.state.device}`.replace(/[^\w.-]+/g, "-");
}

/**
 * Save a text as a file of the browser's downloads.
 * @param {string} text
 * @param {string} name
 * @param {string} type
 */
function saveFile(text, name, type) {
  const address = URL.createObjectURL(new Blob([text], { type }));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
  app.told = say("saved", { name });
  refresh();
}

async function copyAboard() {
  try {
    await navigator.clipboard.writeText(aboardText());
    app.told = say("copied");
  } catch {
    app.told = say("copy-refused");
    byHand = true;
  }
  refresh();
}

let byHand = false;

async function handIn() {
  try {
    const answer = await fetch("hand-in", { method: "POST", headers: { "Content-Type": "application/json" }, body: aboardText() });
    app.told = answer.ok ? say("handed-in", { name: await answer.text() }) : say("hand-in-refused", { why: await answer.text() });
  } catch {
    app.told = say("hand-in-failed");
  }
  refresh();
}

/** @returns {HTMLElement[]} */
function handScreen() {
  const tables = tablesHandedBack();
  const filled = tables.filter((each) => each.rows.length);
  const stem = fileStem();
  const file = (/** @type {string} */ name) => (name === "runs" ? `${stem}.csv` : `${stem}-${name}.csv`);
  return [
    h("h1", { tabindex: -1 }, say("hand-back")),
    ...(filled.length ? filled.map((each) => h("p", {}, say(`hand-back-${each.name}`, { n: each.rows.length }))) : [h("p", {}, say("hand-back-none"))]),
    app.waiting.length ? h("p", { class: "do" }, say("hand-back-waiting", { n: app.waiting.length })) : null,
    h(
      "div",
      { class: "buttons tall" },
      app.served ? button("hand-in", () => void handIn(), { class: "big" }) : null,
      button("save-json", () => saveFile(aboardText(), `${stem}.json`, "application/json"), { class: "big" }),
      ...tables.map(({ name }) => button(`save-${name}`, () => saveFile(tableText(name), file(name), "text/csv"))),
      button("copy-json", () => void copyAboard()),
      button("show-codes", () => void openCodes()),
    ),
    byHand ? h("div", { class: "field words" }, h("label", { for: "all" }, say("copy-by-hand")), textArea(aboardText())) : null,
    codesPart(),
    h("p", {}, say("merge-how")),
  ].filter((each) => each !== null);
}

/**
 * @param {string} text
 */
function textArea(text) {
  const area = h("textarea", { id: "all", readonly: true, rows: 6 });
  /** @type {HTMLTextAreaElement} */ (area).value = text;
  return area;
}
