"use strict";
// Elements made from plain text: nothing that a file holds is ever read as markup.

/**
 * @typedef {string | number | Node | null | undefined | false} Child
 */

/** What is done on the events of an element; kept beside it, so that it can be exchanged. */
const HANDLERS = /** @type {WeakMap<Element, Record<string, (event: Event) => void>>} */ (new WeakMap());

/**
 * @param {Event} event
 */
function dispatched(event) {
  const own = HANDLERS.get(/** @type {Element} */ (event.currentTarget));
  own?.[event.type]?.(event);
}

/**
 * An element with its attributes and what stands in it; `on…` attributes are listeners.
 * @param {string} tag
 * @param {Record<string, any>} attributes
 * @param {...(Child | Child[])} children
 * @returns {HTMLElement}
 */
function h(tag, attributes, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) listen(made, name.slice(2), value);
    else made.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children.flat()) {
    if (child === null || child === undefined || child === false) continue;
    made.append(child instanceof Node ? child : String(child));
  }
  return made;
}

/**
 * A name from a file, kept from turning the reading direction of what stands around it.
 * @param {string} text
 */
function name_(text) {
  return h("bdi", {}, text);
}

/**
 * @param {string} key of the word on it
 * @param {(event: Event) => void} pressed
 * @param {Record<string, any>} [more]
 */
function button(key, pressed, more = {}) {
  return h("button", { type: "button", onclick: pressed, "data-key": key, ...more }, say(key));
}

/**
 * The text of the field that an event came from; the field that was made with the handler may be another.
 * @param {Event} event
 */
function textOf(event) {
  return /** @type {HTMLInputElement} */ (event.currentTarget).value;
}

/**
 * @param {Element} element
 * @param {string} type
 * @param {(event: Event) => void} handler
 */
function listen(element, type, handler) {
  const own = HANDLERS.get(element) ?? {};
  HANDLERS.set(element, own);
  if (!own[type]) element.addEventListener(type, dispatched);
  own[type] = handler;
}

/**
 * Put a screen in the place of the one before. Elements that stay are kept as they are, so that neither the
 * focus nor a press that has begun is lost when an entry is stored meanwhile.
 * @param {HTMLElement} place
 * @param {HTMLElement[]} content
 * @param {boolean} fresh another screen than before
 */
function show(place, content, fresh) {
  if (!fresh) {
    alignChildren(place, content);
    return;
  }
  place.replaceChildren(...content);
  window.scrollTo(0, 0);
  const heading = place.querySelector("h1, h2");
  if (heading instanceof HTMLElement) heading.focus({ preventScroll: true });
}

/**
 * What an element is known again by.
 * @param {Node} node
 */
function mark(node) {
  return node instanceof HTMLElement ? `${node.tagName} ${node.dataset.key ?? node.id}` : "text";
}

/**
 * @param {Node} old
 * @param {Node[]} wanted
 */
function alignChildren(old, wanted) {
  let at = old.firstChild;
  for (const each of wanted) {
    const known = mark(each);
    let same = at;
    while (same && mark(same) !== known) same = same.nextSibling;
    if (!same) {
      old.insertBefore(each, at);
      continue;
    }
    while (at && at !== same) at = dropped(at);
    alignNode(same, each);
    at = same.nextSibling;
  }
  while (at) at = dropped(at);
}

/**
 * @param {ChildNode} node
 */
function dropped(node) {
  const after = node.nextSibling;
  node.remove();
  return after;
}

const OPENED = ["DETAILS"]; // what the user opens and shuts
const DRAWN = ["CANVAS"]; // what holds more than its children

/**
 * @param {Node} old
 * @param {Node} wanted
 */
function alignNode(old, wanted) {
  if (!(old instanceof HTMLElement) || !(wanted instanceof HTMLElement)) {
    if (old.textContent !== wanted.textContent) old.textContent = wanted.textContent;
    return;
  }
  if (old.dataset.own && old.id === wanted.id) return; // kept up by the clock
  if (DRAWN.includes(old.tagName)) {
    old.replaceWith(wanted);
    return;
  }
  for (const { name } of [...old.attributes]) {
    const open = name === "open" && OPENED.includes(old.tagName);
    if (!wanted.hasAttribute(name) && !open) old.removeAttribute(name);
  }
  for (const { name, value } of wanted.attributes) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  for (const [type, handler] of Object.entries(HANDLERS.get(wanted) ?? {})) listen(old, type, handler);
  if (old instanceof HTMLInputElement && wanted instanceof HTMLInputElement) {
    if (old.value !== wanted.value && document.activeElement !== old) old.value = wanted.value;
    return;
  }
  alignChildren(old, [...wanted.childNodes]);
}
