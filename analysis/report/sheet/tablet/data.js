"use strict";
// What the page was made with, and its words.

/**
 * A run as planned: number, set point, double run, direction, heading, fuel to take in before.
 * @typedef {[number, number, number, string, (number | null)?, number?]} PlannedRun
 * @typedef {{id: string, configuration: string, title: string, day: string, begins: string,
 *   fit_again: boolean, fill_before: number, runs: PlannedRun[]}} SheetSession
 * @typedef {{key: string, of: string, title: string, heading: string, unit: string, slope: number,
 *   offset: number, usual: number[], per_second?: number}} Column
 * @typedef {{name: string, title: string, start: string, end: string, drift: boolean,
 *   tries: [number, string][], columns: Column[]}} Manoeuvre
 * @typedef {{name: string, title: string, asks: string, lowest: number, highest: number,
 *   anchors: [number, string][]}} Item
 * @typedef {{raters: number, blind: boolean, guess: [string, string][], items: Item[], orders: number[][],
 *   shifts: number[], head: [string, string][]}} Ratings
 * @typedef {{schema: number, tool: {name: string, version: string}, id: string, trial: string,
 *   title: string, boat: string, protocol: {id: string, version: string}, seal: string,
 *   seed: number, order: string, invented: boolean, reciprocal: boolean, apart: number,
 *   settle: number, record: number, turn: number, fill: number, unit: string, held: string,
 *   cautions: string[], legend: [string, string][], head: [string, string][], columns: Column[],
 *   measures: {name: string, combine: string}[], tests: RunTest[],
 *   noted: {name: string, title: string, limit: string, unit: string}[],
 *   bands: Record<string, string>, speed: string, speed_unit: string, per_knot: number, level_fuel: boolean,
 *   sessions: SheetSession[], manoeuvres?: Manoeuvre[], try_head?: [string, string][],
 *   try_cautions?: number, then_scored?: boolean, ratings?: Ratings}} SheetData
 */

/**
 * @param {string} id
 * @returns {any}
 */
function embedded(id) {
  return JSON.parse(document.getElementById(id)?.textContent ?? "null");
}

/** @type {Record<string, string>} */
let WORDS = {};

/**
 * A sentence of the table of words, with what it speaks of put in.
 * @param {string} key
 * @param {Record<string, string | number>} [given]
 */
function say(key, given = {}) {
  const text = WORDS[key] ?? key;
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in given ? String(given[name]) : whole));
}

/**
 * A number as people write it, ten digits at most.
 * @param {number} value
 */
function shown(value) {
  return String(Number(value.toPrecision(10)));
}

/**
 * A length of time in words: "3 h 05 min".
 * @param {number} seconds
 */
function hours(seconds) {
  const minutes = Math.round(seconds / 60);
  const rest = String(minutes % 60).padStart(2, "0");
  return minutes >= 60 ? say("hours", { h: Math.floor(minutes / 60), m: rest }) : say("minutes", { m: minutes });
}

/**
 * Local date and time without zone, to the second, as the run table has it.
 * @param {Date} when
 */
function localTime(when) {
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  const day = `${when.getFullYear()}-${two(when.getMonth() + 1)}-${two(when.getDate())}`;
  return `${day}T${two(when.getHours())}:${two(when.getMinutes())}:${two(when.getSeconds())}`;
}
