"use strict";
// Where entries are kept: a database of the browser that writes to the disk before it answers, and copies of two
// kinds beside it. A browser that is killed while it writes may find its database broken when it is opened for
// the second time after that, and then clears all of it. So an entry counts as stored only once the database
// and a copy in files apart from it have both said so; what one of them has lost comes back from the others.

const STORE = "journal";
const TRIES = 4; // at opening a database that another process may not have let go yet
const PLACE = "https://sheet.invalid/"; // of copies; a name that leads nowhere (RFC 2606), never asked for

/**
 * The database, the copy in files, and whether there is a copy at all; null is what the browser does not give.
 * @typedef {{name: string, base: IDBDatabase | null, files: Cache | null, second: boolean}} Store
 */

/**
 * Open the store of a sheet.
 * @param {string} name
 * @returns {Promise<Store>}
 */
async function openStore(name) {
  let base = await openBase(name);
  for (let i = 1; !base && i < TRIES; i++) {
    await new Promise((done) => setTimeout(done, 300));
    base = await openBase(name);
  }
  const files = typeof caches === "object" ? await caches.open(name).catch(() => null) : null;
  return { name, base, files, second: true };
}

/**
 * @param {string} name
 * @returns {Promise<IDBDatabase | null>}
 */
function openBase(name) {
  return new Promise((done) => {
    try {
      const asked = indexedDB.open(name, 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "n" });
      asked.onsuccess = () => done(asked.result);
      asked.onerror = asked.onblocked = () => done(null);
    } catch {
      done(null);
    }
  });
}

/**
 * All entries in order; what only a copy holds is put back into the database.
 * @param {Store} store
 * @returns {Promise<{entries: Entry[], restored: number}>}
 */
async function readStore(store) {
  const first = await readBase(store);
  const known = new Set(first.map((each) => each.n));
  const lost = await readFiles(store, known);
  for (const each of lost) known.add(each.n);
  lost.push(...readLocal(store).filter((each) => !known.has(each.n)));
  for (const each of lost) await writeBase(store, each).catch(() => undefined);
  const entries = [...first, ...lost].sort((one, other) => one.n - other.n);
  return { entries, restored: lost.length };
}

/**
 * Entries of the copy in files that are not known otherwise.
 * @param {Store} store
 * @param {Set<number>} known
 * @returns {Promise<Entry[]>}
 */
async function readFiles(store, known) {
  if (!store.files) return [];
  const found = [];
  for (const key of await store.files.keys().catch(() => [])) {
    if (known.has(Number(key.url.slice(PLACE.length)))) continue;
    const each = await store.files.match(key).then((answer) => answer?.json()).catch(() => null);
    if (each && Number.isInteger(each.n)) found.push(each);
  }
  return found;
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
function readLocal(store) {
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
    return found;
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
  const copies = [await writeFile(store, entry), writeLocal(store, entry)];
  store.second = copies.some(Boolean);
}

/**
 * @param {Store} store
 * @param {Entry} entry
 */
async function writeFile(store, entry) {
  if (!store.files) return false;
  const answer = new Response(JSON.stringify(entry));
  return store.files.put(`${PLACE}${entry.n}`, answer).then(() => true, () => false);
}

/**
 * @param {Store} store
 * @param {Entry} entry
 */
function writeLocal(store, entry) {
  try {
    localStorage.setItem(`${store.name} ${entry.n}`, JSON.stringify(entry));
    return true;
  } catch {
    return false;
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
