// The script of the page: redraws the part that answers, keeps what was typed, takes files that are
// dropped. Everything works without it, by the buttons.
"use strict";

document.documentElement.classList.add("script");

// A form with data-live names the part that answers it: <form data-live="answer">, <div id="answer">;
// data-then names a part that is asked for once the answer stands. One question at a time is on its way:
// what moved meanwhile is asked when the answer is there, so that a slider never builds up a queue.
const waits = new WeakMap();

function addressOf(form) {
  const query = new URLSearchParams();
  for (const [key, value] of new FormData(form)) {
    if (typeof value === "string" && value !== "") query.append(key, value);
  }
  const text = query.toString();
  return form.getAttribute("action").split("?")[0] + (text ? "?" + text : "");
}

async function redraw(form) {
  const part = document.getElementById(form.dataset.live);
  if (!part) return;
  const wait = waits.get(form) || { under: false, again: false, turn: 0 };
  waits.set(form, wait);
  if (wait.under) {
    wait.again = true;
    return;
  }
  wait.under = true;
  part.setAttribute("aria-busy", "true");
  try {
    do {
      wait.again = false;
      wait.turn += 1;
      await answered(form, part, addressOf(form));
    } while (wait.again);
  } catch {
    part.innerHTML = "<p class=\"problem\" role=\"alert\">The page does not answer any more. What helps: start 'heatset page' again.</p>";
  }
  wait.under = false;
  part.removeAttribute("aria-busy");
  if (form.dataset.then) beside(form, wait).catch(() => {});
}

async function answered(form, part, address) {
  const response = await fetch(address, { headers: { "X-Heatset-Part": form.dataset.live } });
  const text = await response.text();
  const isPart = response.headers.get("X-Heatset-Part") === form.dataset.live;
  part.innerHTML = response.ok || isPart ? text : problemOf(text);
  placed(part);
  faultsOf(form, part);
  if (response.ok || isPart) history.replaceState(null, "", address);
  part.dispatchEvent(new CustomEvent("heatset:drawn", { bubbles: true }));
}

// What stands beside the answer comes after it, and is thrown away where the answer moved on.
async function beside(form, wait) {
  const turn = wait.turn;
  const response = await fetch(addressOf(form), { headers: { "X-Heatset-Part": form.dataset.then } });
  const text = await response.text();
  if (wait.turn !== turn || wait.under || !response.ok) return;
  const pieces = document.createElement("div");
  pieces.innerHTML = text;
  placed(pieces);
}

// Pieces of a part that belong elsewhere: <div data-into="id">; and the address of a picture, which keeps
// its old face until the new one is there.
function placed(part) {
  for (const piece of part.querySelectorAll("[data-into]")) {
    const place = document.getElementById(piece.dataset.into);
    // A status that says the same again is not said again.
    if (place && place.textContent !== piece.textContent) place.replaceChildren(...piece.childNodes);
    else if (place && piece.firstElementChild) place.replaceChildren(...piece.childNodes);
    piece.remove();
  }
  for (const piece of part.querySelectorAll("[data-picture]")) {
    const picture = document.getElementById(piece.dataset.picture);
    const address = piece.dataset.address;
    const figure = picture?.closest("figure");
    if (figure) {
      figure.hidden = address === "";
      if (address !== "") {
        picture.src = address;
        picture.alt = piece.dataset.finding;
        for (const other of figure.querySelectorAll("img[data-beside]")) {
          other.src = address.replace(/[a-z]+[.]svg/, other.dataset.beside);
        }
      }
    }
    piece.remove();
  }
}

// <li data-fault="id"> in an answer marks the field of that id and writes what is wrong below it.
function faultsOf(form, part) {
  for (const said of form.querySelectorAll(".fault")) said.textContent = "";
  for (const field of form.elements) field.removeAttribute("aria-invalid");
  for (const fault of part.querySelectorAll("[data-fault]")) {
    const field = document.getElementById(fault.dataset.fault);
    if (field?.matches("input, select, textarea")) field.setAttribute("aria-invalid", "true");
    const said = document.getElementById(fault.dataset.fault + "-fault");
    if (said) said.textContent = [...fault.querySelectorAll("span")].map((line) => line.textContent).join(" ");
  }
}

// What cannot be answered comes as a whole page; its words are shown in place.
function problemOf(text) {
  const problem = new DOMParser().parseFromString(text, "text/html").querySelector(".problem");
  return problem ? problem.outerHTML : "";
}

function soon(form, wait) {
  clearTimeout(form.heatsetTimer);
  form.heatsetTimer = setTimeout(() => redraw(form), wait);
}

// A control that moves a field: <input type="range" data-moves="id">. data-times: the field's number is the
// control's times that; data-over: it is that over the control's.
function moved(control) {
  const field = document.getElementById(control.dataset.moves);
  const number = Number.parseFloat(control.value);
  if (!field || !Number.isFinite(number)) return null;
  field.value = shortly(otherWay(control, number, 1));
  return field;
}

function followed(field, mover) {
  const number = Number.parseFloat(field.value);
  if (!Number.isFinite(number)) return;
  for (const control of document.querySelectorAll("[data-moves=\"" + field.id + "\"]")) {
    if (control === mover) continue;
    control.value = control.type === "range" ? String(number) : shortly(otherWay(control, number, -1));
  }
}

function otherWay(control, number, way) {
  if (control.dataset.over) return Number(control.dataset.over) / number;
  return number * Number(control.dataset.times || 1) ** way;
}

function shortly(number) {
  return String(Number(number.toPrecision(4)));
}

document.addEventListener("input", (event) => {
  const control = event.target;
  const field = control.dataset.moves ? moved(control) : control;
  if (!field) return;
  if (field.id) followed(field, control);
  const form = field.form;
  if (!form) return;
  if (form.dataset.keep) keep(form);
  if (form.dataset.live !== undefined && control.type !== "file") {
    soon(form, control.type === "range" ? 0 : 60);
  }
  shown(control);
});

document.addEventListener("change", (event) => {
  const control = event.target;
  const form = control.form;
  if (form && form.dataset.atOnce !== undefined) shownIn(form);
  if (form && control.dataset.reload !== undefined) location.assign(addressOf(form));
  if (control.dataset.widens) widened(document.getElementById(control.dataset.widens), control.checked);
});

// Another unit: everything else stays as the address says it now, not as it was when the page came.
function shownIn(form) {
  for (const kept of document.querySelectorAll("form[data-keep]")) if (kept.heatsetKeep) keepNow(kept);
  const query = new URLSearchParams(location.search);
  for (const select of form.querySelectorAll("select")) {
    if (select.value === "") query.delete(select.name);
    else query.set(select.name, select.value);
  }
  const text = query.toString();
  location.assign(location.pathname + (text ? "?" + text : ""));
}

// A slider with data-wide and data-narrow ("from to") goes farther while a tick with data-widens is set.
function widened(slider, wide) {
  const ends = (wide ? slider?.dataset.wide : slider?.dataset.narrow)?.split(" ");
  if (ends) [slider.min, slider.max] = ends;
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.live !== undefined && form.method === "get") {
    event.preventDefault();
    redraw(form);
  }
});

// A slider's value stands beside it: <output for="id"> shows data-words with # replaced.
function shown(control) {
  if (control.type !== "range" || !control.id) return;
  const output = document.querySelector("output[for=\"" + control.id + "\"]");
  if (output) output.textContent = (control.dataset.words || "#").replace("#", control.value);
}

// What was typed into a form with data-keep survives a reload: it stays in this browser alone.
function keptKey(form) {
  return "heatset:" + form.dataset.keep;
}

// Not at every key: a grid of some thousand cells takes a while to be written down.
function keep(form) {
  clearTimeout(form.heatsetKeep);
  form.heatsetKeep = setTimeout(() => keepNow(form), 300);
}

function keepNow(form) {
  clearTimeout(form.heatsetKeep);
  form.heatsetKeep = 0;
  const typed = [];
  for (const field of form.elements) {
    if (!field.name || field.disabled || field.type === "file" || field.type === "hidden") continue;
    if ((field.type === "radio" || field.type === "checkbox") && !field.checked) continue;
    if (field.tagName === "BUTTON") continue;
    // A cell of the grid that was blank and is, needs no memory.
    if (field.name.startsWith("c-") && field.value === "" && field.defaultValue === "") continue;
    typed.push([field.name, field.value]);
  }
  try {
    sessionStorage.setItem(keptKey(form), JSON.stringify(typed));
  } catch {
    // A browser that keeps nothing loses what was typed on a reload, and nothing else.
  }
}

addEventListener("pagehide", () => {
  for (const form of document.querySelectorAll("form[data-keep]")) if (form.heatsetKeep) keepNow(form);
});

function restore(form) {
  let typed;
  try {
    typed = JSON.parse(sessionStorage.getItem(keptKey(form)) || "null");
  } catch {
    return;
  }
  if (!Array.isArray(typed)) return;
  const named = new Map();
  for (const field of form.elements) {
    if (!field.name || field.type === "file" || field.type === "hidden") continue;
    if (!named.has(field.name)) named.set(field.name, []);
    named.get(field.name).push(field);
  }
  const seen = new Map();
  for (const [key, value] of typed) {
    const place = seen.get(key) || 0;
    seen.set(key, place + 1);
    const fields = named.get(key) || [];
    if (fields[0] && (fields[0].type === "radio" || fields[0].type === "checkbox")) {
      for (const field of fields) if (field.value === value) field.checked = true;
    } else if (fields[place]) {
      const field = fields[place];
      // A column that only its own table knows comes back with it.
      if (field.tagName === "SELECT" && value && ![...field.options].some((o) => o.value === value)) {
        field.add(new Option(value, value));
      }
      field.value = value;
    }
  }
}

// A file may be dropped on a form with data-drop: it goes into its file field.
for (const form of document.querySelectorAll("form[data-drop]")) {
  const field = form.querySelector("input[type=file]");
  form.addEventListener("dragover", (event) => {
    event.preventDefault();
    form.classList.add("over");
  });
  form.addEventListener("dragleave", () => form.classList.remove("over"));
  form.addEventListener("drop", (event) => {
    event.preventDefault();
    form.classList.remove("over");
    if (field && event.dataTransfer.files.length > 0) {
      field.files = event.dataTransfer.files;
      field.dispatchEvent(new Event("change", { bubbles: true }));
    }
  });
}

for (const form of document.querySelectorAll("form[data-keep]")) restore(form);

// Links that change one thing alone (data-with="key=value") carry along what was asked since.
document.addEventListener("heatset:drawn", () => {
  for (const link of document.querySelectorAll("a[data-with]")) {
    const [key, value] = link.dataset.with.split("=");
    const address = new URL(location.href);
    address.searchParams.set(key, value);
    link.href = address.pathname + address.search;
  }
});

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-print]")) window.print();
});

// A form with data-once is sent once, however often the button is pressed in a hurry.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.once === undefined) return;
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
  setTimeout(() => delete form.dataset.sent, 10000);
});
