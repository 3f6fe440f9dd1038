"use strict";
// What `check` asks of a single run, read from the data that the protocol gave: spans for values.

/**
 * A span that one value of a run has to lie in; what is left out is open, one or nought.
 * @typedef {{rule: string, of: string, unit: string, low?: number, high?: number, least?: number,
 *   above_zero?: boolean, at?: number, slope?: number, offset?: number, stops?: boolean,
 *   said: string}} RunTest
 * @typedef {{rule: string, of: string, said: string}} Broken
 */

/**
 * Whether a working value lies in the span.
 * @param {RunTest} test
 * @param {number} value
 */
function holds(test, value) {
  const plain = test.slope === undefined && test.offset === undefined;
  const found = plain ? value : (test.slope ?? 1) * value + (test.offset ?? 0);
  if (test.above_zero && !(found > 0)) return false;
  if (test.low !== undefined && found < test.low) return false;
  if (test.high !== undefined && found > test.high) return false;
  return found === 0 || Math.abs(found) >= (test.least ?? 0);
}

/**
 * The rules that a run breaks; none for a run that is set aside.
 * @param {RunTest[]} tests
 * @param {number} setPoint
 * @param {Record<string, number>} values working values by name; what was not noted is absent
 * @param {string} setAside
 * @returns {Broken[]}
 */
function brokenRules(tests, setPoint, values, setAside) {
  if (setAside) return [];
  /** @type {Broken[]} */
  const found = [];
  const stopped = new Set();
  for (const test of tests) {
    const value = values[test.of];
    if (value === undefined || !Number.isFinite(value) || stopped.has(test.of)) continue;
    if (test.at !== undefined && test.at !== setPoint) continue;
    if (holds(test, value)) continue;
    found.push({ rule: test.rule, of: test.of, said: test.said });
    if (test.stops) stopped.add(test.of);
  }
  return found;
}

/**
 * How far two headings are from opposite. [deg]
 * @param {number} one
 * @param {number} other
 */
function offReciprocal(one, other) {
  const turn = ((((other - one + 180) % 360) + 360) % 360) - 180;
  return 180 - Math.abs(turn);
}

const NUMBER = /^[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)$/;
const THOUSANDS = /^[+-]?[1-9]\d{0,2},\d{3}$/; // or decimals: nobody can tell

/**
 * A number as a crew types it, with a decimal point or comma; undefined when it is none.
 * @param {string} text
 * @returns {number | undefined}
 */
function readNumber(text) {
  const trimmed = text.trim().replace("−", "-");
  return NUMBER.test(trimmed) && !THOUSANDS.test(trimmed) ? Number(trimmed.replace(",", ".")) : undefined;
}

/**
 * The same number as the run table has it, its digits as typed; with a decimal point.
 * @param {string} text
 */
function tableNumber(text) {
  return text.trim().replace("−", "-").replace(",", ".");
}
