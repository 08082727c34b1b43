// The script of the page: redraws the part that answers, keeps what was typed, takes files that are
// dropped. Everything works without it, by the buttons.
"use strict";

document.documentElement.classList.add("script");

// A form with data-live names the part that answers it: <form data-live="answer">, <div id="answer">.
// While a control moves, the last wish wins: an answer that was overtaken is thrown away.
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
  waits.get(form)?.abort();
  const wait = new AbortController();
  waits.set(form, wait);
  const address = addressOf(form);
  part.setAttribute("aria-busy", "true");
  try {
    const response = await fetch(address, {
      headers: { "X-Heatset-Part": form.dataset.live },
      signal: wait.signal,
    });
    const text = await response.text();
    if (wait.signal.aborted) return;
    part.innerHTML = response.ok ? text : problemOf(text);
    if (response.ok) history.replaceState(null, "", address);
    part.dispatchEvent(new CustomEvent("heatset:drawn", { bubbles: true }));
  } catch (error) {
    if (error.name === "AbortError") return;
    part.innerHTML = "<p class=\"problem\" role=\"alert\">The page does not answer any more. What helps: start 'heatset page' again.</p>";
  }
  if (waits.get(form) === wait) part.removeAttribute("aria-busy");
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

document.addEventListener("input", (event) => {
  const form = event.target.form;
  if (!form) return;
  if (form.dataset.keep) keep(form);
  if (form.dataset.live !== undefined && event.target.type !== "file") {
    soon(form, event.target.type === "range" ? 0 : 60);
  }
  shown(event.target);
});

document.addEventListener("change", (event) => {
  const form = event.target.form;
  if (form && form.dataset.atOnce !== undefined) form.requestSubmit();
});

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

function keep(form) {
  const typed = [];
  for (const [key, value] of new FormData(form)) {
    if (typeof value === "string") typed.push([key, value]);
  }
  try {
    sessionStorage.setItem(keptKey(form), JSON.stringify(typed));
  } catch {
    // A browser that keeps nothing loses what was typed on a reload, and nothing else.
  }
}

function restore(form) {
  let typed;
  try {
    typed = JSON.parse(sessionStorage.getItem(keptKey(form)) || "null");
  } catch {
    return;
  }
  if (!Array.isArray(typed)) return;
  const seen = new Map();
  for (const [key, value] of typed) {
    const place = seen.get(key) || 0;
    seen.set(key, place + 1);
    const fields = [...form.elements].filter((f) => f.name === key && f.type !== "file" && f.type !== "hidden");
    if (fields[0] && (fields[0].type === "radio" || fields[0].type === "checkbox")) {
      for (const field of fields) if (field.value === value) field.checked = true;
    } else if (fields[place]) {
      fields[place].value = value;
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

// An answer that names faults marks their fields; one that does not clears them.
document.addEventListener("heatset:drawn", (event) => {
  const form = document.querySelector("form[data-live=\"" + event.target.id + "\"]");
  if (!form) return;
  for (const place of form.querySelectorAll(".fault")) place.textContent = "";
  for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
  for (const fault of event.target.querySelectorAll("[data-fault]")) {
    const field = form.elements[fault.dataset.fault];
    const place = document.getElementById("fault-" + fault.dataset.fault);
    if (field && field.setAttribute) field.setAttribute("aria-invalid", "true");
    if (place) place.textContent = fault.dataset.words;
  }
  // Links that change one thing alone carry along what was asked since.
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
