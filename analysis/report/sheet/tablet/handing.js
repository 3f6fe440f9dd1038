"use strict";
// Handing back: the run table as CSV, everything with its history as JSON, by file, clipboard, codes or wire.

const FORMULA = /^[=+\-@\t\r]/;

/**
 * The cells of a run by the keys of the run table's columns.
 * @param {Run} run
 */
function rowOf(run) {
  /** @type {Record<string, string>} */
  const row = { session: app.data.sessions[run.session].id, set_point: shown(run.setPoint), double_run: String(run.doubleRun), direction: run.direction };
  for (const [key] of app.data.head) if (!(key in row)) row[key] = cell(run, key);
  if (app.rehearsal) row.note = row.note ? `${INVENTED}. ${row.note}` : INVENTED;
  return row;
}

/** Rows of the sessions that were begun; runs not made in them stay blank. */
function rowsHandedBack() {
  const begun = new Set(app.state.runs.filter((run) => statusOf(app.data, run) !== "open").map((run) => run.session));
  return app.state.runs.filter((run) => begun.has(run.session)).map(rowOf);
}

/**
 * A text as a cell of CSV; one that a spreadsheet would take for a formula is kept from being one.
 * @param {string} text
 */
function csvCell(text) {
  const safe = FORMULA.test(text) && readNumber(text) === undefined ? ` ${text}` : text;
  return /[",\r\n]/.test(safe) || safe !== safe.trim() ? `"${safe.replaceAll('"', '""')}"` : safe;
}

function tableText() {
  const { head } = app.data;
  const lines = [head.map(([, heading]) => csvCell(heading)).join(",")];
  for (const row of rowsHandedBack()) lines.push(head.map(([key]) => csvCell(row[key] ?? "")).join(","));
  return `${lines.join("\n")}\n`;
}

function aboardText() {
  const { data } = app;
  const noted = data.sessions.map((session, place) => {
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
    head: Object.fromEntries(data.head),
    rows: rowsHandedBack(),
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
  const rows = rowsHandedBack().length;
  const stem = fileStem();
  return [
    h("h1", { tabindex: -1 }, say("hand-back")),
    h("p", {}, rows ? say("hand-back-rows", { n: rows }) : say("hand-back-none")),
    app.waiting.length ? h("p", { class: "do" }, say("hand-back-waiting", { n: app.waiting.length })) : null,
    h(
      "div",
      { class: "buttons tall" },
      app.served ? button("hand-in", () => void handIn(), { class: "big" }) : null,
      button("save-json", () => saveFile(aboardText(), `${stem}.json`, "application/json"), { class: "big" }),
      button("save-csv", () => saveFile(tableText(), `${stem}.csv`, "text/csv")),
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
