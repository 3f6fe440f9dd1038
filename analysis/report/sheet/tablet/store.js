"use strict";
// Where entries are kept: a database of the browser that writes to the disk before it answers, and a second
// copy beside it. An entry counts as stored only once the database has said so.

const STORE = "journal";

/**
 * @typedef {{name: string, base: IDBDatabase | null, second: boolean}} Store
 */

/**
 * Open the store of a sheet.
 * @param {string} name
 * @returns {Promise<Store>}
 */
async function openStore(name) {
  const base = await new Promise((done) => {
    try {
      const asked = indexedDB.open(name, 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "n" });
      asked.onsuccess = () => done(asked.result);
      asked.onerror = asked.onblocked = () => done(null);
    } catch {
      done(null);
    }
  });
  return { name, base, second: true };
}

/**
 * All entries in order; what only the second copy holds is put back into the first.
 * @param {Store} store
 * @returns {Promise<{entries: Entry[], restored: number}>}
 */
async function readStore(store) {
  const first = await readBase(store);
  const known = new Set(first.map((each) => each.n));
  const lost = readSecond(store).filter((each) => !known.has(each.n));
  for (const each of lost) await writeBase(store, each).catch(() => undefined);
  const entries = [...first, ...lost].sort((one, other) => one.n - other.n);
  return { entries, restored: lost.length };
}

/**
 * @param {Store} store
 * @returns {Promise<Entry[]>}
 */
function readBase(store) {
  const { base } = store;
  if (!base) return Promise.resolve([]);
  return new Promise((done, failed) => {
    const asked = base.transaction(STORE).objectStore(STORE).getAll();
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

/**
 * @param {Store} store
 * @returns {Entry[]}
 */
function readSecond(store) {
  /** @type {Entry[]} */
  const found = [];
  try {
    for (let i = 0; i < localStorage.length; i++) {
      const key = localStorage.key(i) ?? "";
      if (!key.startsWith(`${store.name} `)) continue;
      const each = JSON.parse(localStorage.getItem(key) ?? "null");
      if (each && Number.isInteger(each.n)) found.push(each);
    }
  } catch {
    store.second = false;
  }
  return found;
}

/**
 * Add an entry under its number. It is on the disk when the promise is kept; broken, it is not stored.
 * @param {Store} store
 * @param {Entry} entry
 * @returns {Promise<void>}
 */
async function addToStore(store, entry) {
  await writeBase(store, entry);
  try {
    localStorage.setItem(`${store.name} ${entry.n}`, JSON.stringify(entry));
    store.second = true;
  } catch {
    store.second = false;
  }
}

/**
 * @param {Store} store
 * @param {Entry} entry
 * @returns {Promise<void>}
 */
function writeBase(store, entry) {
  const { base } = store;
  if (!base) return Promise.reject(new Error("no database"));
  return new Promise((done, failed) => {
    try {
      // Strict: told complete only after the disk has it. `add` refuses a number that is taken, so that
      // two windows never write over each other, whatever else fails.
      const change = base.transaction(STORE, "readwrite", { durability: "strict" });
      change.oncomplete = () => done();
      change.onabort = () => failed(change.error ?? new Error("not stored"));
      change.objectStore(STORE).add(entry);
    } catch (error) {
      failed(error);
    }
  });
}

/**
 * Become the only window that writes to a store; waits for another one to close where there is one.
 * @param {string} name
 * @param {() => void} waits told when another window has it
 * @param {() => void} has told once this one has it
 */
function claimStore(name, waits, has) {
  if (!navigator.locks) {
    has();
    return;
  }
  const forever = () => new Promise(() => has());
  navigator.locks
    .request(name, { ifAvailable: true }, (lock) => {
      if (lock) return forever();
      waits();
      navigator.locks.request(name, forever).catch(() => undefined);
      return undefined;
    })
    .catch(() => has());
}
