"use strict";
// The page as a whole: which screen shows, what stands around it, how it begins.

const SCREENS = {
  start: startScreen,
  sessions: sessionsScreen,
  session: sessionScreen,
  tries: triesScreen,
  run: runScreen,
  hand: handScreen,
  history: historyScreen,
};

/** Those of the raters' page. */
const RATER_SCREENS = { start: startScreen, sessions: scoringScreen, raters: ratersScreen, run: runScreen, hand: handScreen };

/** @returns {Record<string, () => HTMLElement[]>} */
function ownScreens() {
  return app.data.ratings ? RATER_SCREENS : SCREENS;
}

/**
 * @param {string} screen
 */
function go(screen) {
  commitTyping();
  app.screen = app.state.ready ? screen : "start";
  app.told = "";
  spoiling = "";
  padded = null;
  codes = null;
  byHand = false;
  keepPlace();
  refresh(true);
}

/**
 * @param {string} id
 */
function openRun(id) {
  commitTyping();
  const run = app.state.byId.get(id);
  if (!run) return;
  app.run = id;
  app.session = run.session;
  go("run");
}

/** Where the crew are, so that a reload comes back to it; nothing is lost without it. */
function keepPlace() {
  const { screen, run, session, night } = app;
  try {
    localStorage.setItem(`${storeName()}-place`, JSON.stringify({ screen, run, session }));
    localStorage.setItem("slackwater-sheet-night", night ? "1" : "");
    localStorage.setItem(`slackwater-sheet-${app.data.id}-rehearses`, app.rehearsal ? "1" : "");
  } catch {
    // the place is a convenience
  }
}

function restorePlace() {
  try {
    const found = JSON.parse(localStorage.getItem(`${storeName()}-place`) ?? "{}");
    app.night = localStorage.getItem("slackwater-sheet-night") === "1";
    if (!app.state.ready || !(found.screen in ownScreens())) return;
    app.screen = found.screen;
    if (Number.isInteger(found.session) && app.data.sessions[found.session]) app.session = found.session;
    if (app.screen === "tries" && !app.data.manoeuvres) app.screen = "session";
    if (app.state.byId.has(found.run)) app.run = found.run;
    else if (app.screen === "run") app.screen = "sessions";
  } catch {
    app.screen = "start";
  }
}

let pressing = false;
let refreshLater = false;

/** A press is over: what waited for it is shown. */
function released() {
  setTimeout(() => {
    pressing = false;
    if (refreshLater) refresh();
  }, 0);
}

/**
 * @param {boolean} [fresh] another screen than before
 */
function refresh(fresh = false) {
  if (pressing && !fresh) {
    refreshLater = true; // what is being pressed must not move away under the finger
    return;
  }
  refreshLater = false;
  document.documentElement.classList.toggle("night", app.night);
  document.documentElement.classList.toggle("rehearsal", app.rehearsal);
  place("bar", barPart());
  place("told", toldPart());
  show(/** @type {HTMLElement} */ (document.querySelector("main")), ownScreens()[app.screen](), fresh);
  tick();
}

/**
 * @param {string} id
 * @param {(HTMLElement | null)[]} content
 */
function place(id, content) {
  const kept = content.filter((each) => each !== null);
  show(/** @type {HTMLElement} */ (document.getElementById(id)), kept, false);
}

/** What stands at the top of every screen. */
function barPart() {
  const { data } = app;
  const session = data.sessions[app.session];
  const within = ["run", "session", "tries", "raters"].includes(app.screen);
  return [
    app.rehearsal ? h("p", { class: "invented" }, say("rehearsal-mark")) : null,
    data.invented && !app.rehearsal ? h("p", { class: "invented" }, say("invented-mark")) : null,
    h("nav", { "aria-label": say("screens") }, navPart(within)),
    within ? h("p", { class: "progress" }, h("b", {}, name_(session.id)), " ", name_(session.title ?? ""), h("span", {}, doneWords())) : null,
  ];
}

/**
 * The screens to go to. Raters have neither history nor undo: both show what others scored.
 * @param {boolean} within a session
 */
function navPart(within) {
  const { data, state } = app;
  const to = (/** @type {string} */ key, /** @type {string} */ screen) =>
    button(key, () => go(screen), { "aria-current": app.screen === screen ? "page" : undefined, disabled: !state.ready && screen !== "start" });
  const colours = button(app.night ? "day" : "night", () => ((app.night = !app.night), keepPlace(), refresh()));
  const first = [to("nav-start", "start"), to("nav-sessions", "sessions")];
  if (data.ratings) return [...first, within ? to("nav-raters", "raters") : null, to("nav-hand", "hand"), colours];
  const own = within ? [to("nav-session", "session"), data.manoeuvres ? to("nav-tries", "tries") : null] : [];
  return [...first, ...own, to("nav-hand", "hand"), to("nav-history", "history"), button("undo", undoLast, { disabled: !writable() || !lastEntry() }), colours];
}

/** How far the session is, of what the screen is about. */
function doneWords() {
  if (app.data.ratings) return slipsWords(app.session);
  const trying = app.screen === "tries" || (app.screen === "run" && app.state.byId.get(app.run)?.kind === "try");
  return trying ? triesWords(app.session) : progressWords();
}

function progressWords() {
  const done = progressOf(app.data, app.state, app.session);
  if (!done.left) return say("progress-done", { made: done.made, all: done.all });
  const end = new Date(Date.now() + 1000 * done.seconds).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  return say("progress", { made: done.made, all: done.all, left: hours(done.seconds), end });
}

/** What has to be told whatever the screen: nothing stored, another window, a clock that was set. */
function toldPart() {
  const parts = [];
  if (app.readOnly && app.store) parts.push(h("p", { class: "warning" }, say("read-only")));
  if (app.failed) parts.push(h("p", { class: "warning" }, app.failed, " ", say("waiting-entries", { n: app.waiting.length }), " ", button("try-again", () => void tryAgain())));
  if (app.store && !app.store.base) parts.push(h("p", { class: "warning" }, say("no-store")));
  if (app.store?.base && !app.store.second) parts.push(h("p", {}, say("no-second-copy")));
  if (app.restored) parts.push(h("p", {}, say("restored", { n: app.restored })));
  if (app.told) parts.push(h("p", {}, app.told));
  return parts;
}

async function openSheet() {
  app.store = await openStore(storeName());
  await readAgain();
  restorePlace();
  app.readOnly = true;
  const name = storeName();
  claimStore(
    name,
    () => refresh(),
    () => {
      if (name !== storeName()) return; // meanwhile another store was opened
      void readAgain().then(() => {
        app.readOnly = false;
        nameDevice();
        watchClock();
        refresh();
      });
    },
  );
  refresh(true);
}

/** What stands behind the address says whether a rehearsal is on, also where the browser keeps no place. */
const MODES = { rehearsal: "#rehearsal", trial: "#trial" };

/** The page begins anew in the other mode, and lets its store go. */
function changeRehearsal() {
  app.rehearsal = !app.rehearsal;
  try {
    localStorage.setItem(`slackwater-sheet-${app.data.id}-rehearses`, app.rehearsal ? "1" : "");
  } catch {
    // the address tells it
  }
  location.hash = app.rehearsal ? MODES.rehearsal : MODES.trial;
  location.reload();
}

/** Whether a rehearsal is on: by the address, else as it was when the page was last open. */
function rehearses() {
  if (location.hash === MODES.rehearsal || location.hash === MODES.trial) return location.hash === MODES.rehearsal;
  try {
    return localStorage.getItem(`slackwater-sheet-${app.data.id}-rehearses`) === "1";
  } catch {
    return false;
  }
}

let following = Promise.resolve();

/** Where another window writes: read what it stored, one reading after the other, so that none ends with less. */
function followOther() {
  if (!app.readOnly) return;
  const known = app.entries.length;
  following = following.then(readAgain).then(() => (app.entries.length === known ? undefined : refresh())).catch(() => undefined);
}

/** A name for this device, entered first of all; it keeps what two devices hand back apart. */
function nameDevice() {
  if (app.state.device) return;
  const drawn = crypto.getRandomValues(new Uint8Array(4));
  enter("", "device", Array.from(drawn, (each) => each.toString(16).padStart(2, "0")).join(""), "clock");
}

async function begin() {
  WORDS = embedded("words");
  app.data = embedded("sheet");
  app.served = document.documentElement.dataset.served === "yes";
  app.rehearsal = rehearses();
  app.state = foldJournal(app.data, []);
  document.getElementById("lookout")?.append(say("lookout"));
  await openSheet();
  setInterval(tick, 250);
  setInterval(() => (watchClock(), place("bar", barPart())), 15000);
  addEventListener("pointerdown", () => (pressing = true), true);
  for (const end of ["pointerup", "pointercancel"]) addEventListener(end, released, true);
  addEventListener("visibilitychange", () => (document.hidden ? commitTyping() : watchClock()));
  addEventListener("pagehide", commitTyping);
  addEventListener("storage", followOther);
  setInterval(followOther, 5000); // a browser may keep such an event back
  void navigator.storage?.persist?.();
}

if (typeof document !== "undefined") void begin();
