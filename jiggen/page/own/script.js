// Shows what is typed while it is typed. Everything works without this: Show, Save and Undo are
// plain buttons of a plain form.
"use strict";

document.documentElement.classList.add("live");
const form = document.getElementById("form");
const PAUSE = 60; // ms after the last key
let timer = 0;
let asked = null; // what is on its way
let sent = false; // the form is, by a press

function body() {
  return new URLSearchParams(new FormData(form));
}

function changed() {
  const is = (e) =>
    e.options ? !e.selectedOptions[0].defaultSelected : "defaultValue" in e && e.value !== e.defaultValue;
  return [...form.elements].filter((e) => e.name && e.type !== "hidden" && is(e));
}

async function ask() {
  if (asked) asked.abort();
  asked = new AbortController();
  const what = body();
  what.append("_part", "1");
  try {
    const answer = await fetch("/try", { method: "POST", body: what, signal: asked.signal });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (page.getElementById("state")) show(page);
    else say(page.body.textContent.trim());
  } catch (trouble) {
    if (trouble.name !== "AbortError") say("The bench does not answer. Is it still running?");
  }
}

function show(page) {
  for (const place of form.querySelectorAll("[data-live]")) {
    const now = page.getElementById(place.id);
    if (now && now.innerHTML.trim() !== place.innerHTML.trim()) place.innerHTML = now.innerHTML;
  }
  const save = document.getElementById("save");
  const stale = form.querySelector("[data-stale]") !== null;
  for (const button of [save, form.querySelector(".first")]) button.disabled = stale;
  mark();
}

function say(text) {
  const line = document.createElement("p");
  line.textContent = text;
  document.getElementById("state").replaceChildren(line);
}

// Faults and warnings name their fields; each field says so, and where the reason stands.
function mark() {
  const wrong = new Map();
  const look = new Set();
  for (const item of form.querySelectorAll("li[data-keys]"))
    for (const key of item.dataset.keys.split(" ")) if (key && !wrong.has(key)) wrong.set(key, item.id);
  for (const item of form.querySelectorAll("li[data-look]"))
    for (const key of item.dataset.look.split(" ")) look.add(key);
  for (const field of form.querySelectorAll(".field input, .field select, .readings input")) {
    if (wrong.has(field.id)) {
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", wrong.get(field.id));
    } else {
      field.removeAttribute("aria-invalid");
      field.removeAttribute("aria-describedby");
    }
    field.closest(".field")?.toggleAttribute("data-look", look.has(field.id));
  }
  thicken();
}

// What is typed in is thick in the picture; a tap there goes to its field.
function thicken() {
  const hint = document.getElementById("hint");
  if (hint && form.contains(document.activeElement)) hint.textContent = document.activeElement.title;
  const key = document.activeElement && document.activeElement.id;
  for (const part of form.querySelectorAll("[data-key]"))
    part.classList.toggle("on", part.dataset.key === key);
}

function again() {
  const button = document.createElement("button");
  button.formAction = "/try";
  button.hidden = true;
  form.append(button);
  form.requestSubmit(button);
}

// A file that is broken is shown at its line.
function toLine(area) {
  const rows = area.value.split("\n");
  const line = Number(area.dataset.line);
  const start = rows.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
  area.focus();
  area.setSelectionRange(start, start + (rows[line - 1] || "").length);
  area.scrollTop = (area.scrollHeight / rows.length) * Math.max(0, line - 6);
}

// Files are drawn in the background: look again until they are ready.
async function watch(place) {
  while (place.querySelector("[data-running]")) {
    await new Promise((later) => setTimeout(later, 400));
    const page = await part("/made");
    const focused = place.contains(document.activeElement);
    place.replaceChildren(...page.body.childNodes);
    if (focused) (place.querySelector("button, a") || place).focus();
  }
}

// Pages take a while to lay out: the screen is there before them.
async function later(place) {
  const page = await part(place.dataset.later);
  const now = page.getElementById(place.id);
  if (now) place.innerHTML = now.innerHTML;
}

async function part(address) {
  const answer = await fetch(address);
  return new DOMParser().parseFromString(await answer.text(), "text/html");
}

if (form) {
  form.addEventListener("input", (event) => {
    clearTimeout(timer);
    if (!event.target.dataset || !("again" in event.target.dataset)) timer = setTimeout(ask, PAUSE);
  });
  // Another way of reading has other columns: the whole page comes anew.
  form.addEventListener("change", (event) => {
    if ("again" in event.target.dataset) again();
  });
  // Saving loads the page anew: go back to the field that was typed in.
  for (const name of ["focusin", "focusout"]) form.addEventListener(name, thicken);
  form.addEventListener("click", (event) => {
    const part = event.target.closest("[data-key]");
    const field = part && document.getElementById(part.dataset.key);
    if (field) field.focus();
  });
  form.addEventListener("submit", () => {
    sent = true;
    const field = document.activeElement;
    if (field && field.id) sessionStorage.setItem("field", field.id);
  });
  const field = document.getElementById(sessionStorage.getItem("field") || "");
  sessionStorage.removeItem("field");
  if (field) field.focus();
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") ask();
  });
  window.addEventListener("focus", ask);
  // What is typed stands in the form alone: nobody leaves it by mistake.
  window.addEventListener("beforeunload", (event) => {
    if (!sent && (form.elements._text?.hidden || changed().length)) event.preventDefault();
  });
  // What was typed before this was loaded.
  if (changed().some((e) => "again" in e.dataset)) again();
  else if (changed().length) ask();
  const broken = form.querySelector("textarea[data-line]");
  if (broken) toLine(broken);
}
for (const place of document.querySelectorAll("[data-made]")) watch(place);
for (const place of document.querySelectorAll("[data-later]")) later(place);
