// Shows what is typed while it is typed. Everything works without this: Show, Save and Undo are
// plain buttons of a plain form.
"use strict";

document.documentElement.classList.add("live");
const form = document.getElementById("form");
const PAUSE = 60; // ms after the last key
let timer = 0;
let asked = null; // what is on its way

function body() {
  return new URLSearchParams(new FormData(form));
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

// Faults name their fields; each field says that it is wrong, and where the reason stands.
function mark() {
  const wrong = new Map();
  for (const item of form.querySelectorAll("li[data-keys]"))
    for (const key of item.dataset.keys.split(" ")) if (key) wrong.set(key, item.id);
  for (const field of form.querySelectorAll(".field input, .field select, .readings input")) {
    if (wrong.has(field.id)) {
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", wrong.get(field.id));
    } else {
      field.removeAttribute("aria-invalid");
      field.removeAttribute("aria-describedby");
    }
  }
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
    const answer = await fetch("/made");
    const now = await answer.text();
    if (!now.includes("data-running")) return location.reload();
    const focused = place.contains(document.activeElement);
    const page = new DOMParser().parseFromString(now, "text/html");
    place.replaceChildren(...page.body.childNodes);
    if (focused) place.querySelector("[data-running]").focus();
  }
}

if (form && !("plain" in form.dataset)) {
  form.addEventListener("input", (event) => {
    clearTimeout(timer);
    if (!event.target.dataset || !("again" in event.target.dataset)) timer = setTimeout(ask, PAUSE);
  });
  // Another way of reading has other columns: the whole page comes anew.
  form.addEventListener("change", (event) => {
    if ("again" in event.target.dataset) again();
  });
  // Saving loads the page anew: go back to the field that was typed in.
  form.addEventListener("submit", () => {
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
  // What was typed before this was loaded.
  const picks = [...form.querySelectorAll("[data-again]")];
  if (picks.some((e) => !e.selectedOptions[0].defaultSelected)) again();
  else if ([...form.elements].some((e) => "defaultValue" in e && e.value !== e.defaultValue)) ask();
  const broken = form.querySelector("textarea[data-line]");
  if (broken) toLine(broken);
}
const made = document.querySelector("[data-made]");
if (made) watch(made);
