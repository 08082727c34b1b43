// The script of the bench room: rows that grow as one types, pasting from a spreadsheet into the grid,
// a chosen file read at once, a fit's progress in place. Everything works without it, by the buttons.
"use strict";

// A name such as c-3-0 with its row or column changed.
function renamed(name, row, column) {
  const parts = name.split("-");
  return parts[0] === "h" ? "h-" + column : "c-" + row + "-" + column;
}

function bodyRows(grid) {
  return grid.tBodies[0].rows;
}

function plainField(field, name, label) {
  field.name = name;
  field.id = name;
  field.setAttribute("aria-label", label);
  field.removeAttribute("aria-invalid");
  field.removeAttribute("aria-describedby");
  if (field.tagName === "SELECT") field.selectedIndex = 0;
  else field.value = "";
  for (const wrong of field.parentElement.querySelectorAll(".wrong")) wrong.remove();
}

// Rows like the last one, blank, as many as are missing to a number; put in at once.
function addRows(grid, number) {
  const rows = bodyRows(grid);
  const before = rows.length;
  const last = rows[before - 1];
  const line = Number.parseInt(last.cells[0].textContent, 10);
  const added = document.createDocumentFragment();
  for (let place = before; place < number; place += 1) {
    const row = last.cloneNode(true);
    row.cells[0].textContent = String(line + place - before + 1);
    row.cells[0].id = "r-" + place;
    [...row.cells].slice(1).forEach((cell, column) => {
      plainField(cell.querySelector("input"), renamed("c-0-0", place, column), "line " + (line + place - before + 1) + ", column " + (column + 1));
    });
    added.append(row);
  }
  grid.tBodies[0].append(added);
}

function addColumn(grid) {
  const head = grid.tHead.rows[0];
  const column = head.cells.length - 1;
  for (const row of [head, ...bodyRows(grid)]) {
    const cell = row.cells[row.cells.length - 1].cloneNode(true);
    row.append(cell);
    const field = cell.querySelector("input, select");
    const place = row.rowIndex - 1;
    plainField(field, field.tagName === "SELECT" ? "h-" + column : "c-" + place + "-" + column,
      field.tagName === "SELECT" ? "What column " + (column + 1) + " is" : "row " + (place + 1) + ", column " + (column + 1));
  }
}

function grow(grid, rows, columns) {
  while (grid.tHead.rows[0].cells.length - 1 < columns) addColumn(grid);
  if (bodyRows(grid).length < rows) addRows(grid, rows);
}

function fieldAt(grid, row, column) {
  grow(grid, row + 1, column + 1);
  return bodyRows(grid)[row].cells[column + 1].querySelector("input");
}

const MOST_ROWS = 5000;
const MOST_COLUMNS = 60;

// A pasted line whose cells are names of columns is the header.
function isHeader(grid, cells) {
  const known = new Set([...grid.tHead.querySelector("select").options].map((o) => o.value).filter(Boolean));
  return cells.some((cell) => known.has(cell.trim()));
}

function paste(grid, field, text) {
  const separator = text.includes("\t") ? "\t" : text.includes(";") ? ";" : ",";
  const lines = text.replace(/\r\n?/g, "\n").replace(/\n$/, "").split("\n").map((line) => line.split(separator));
  if (lines.length === 1 && lines[0].length === 1) return false;
  const [, row, column] = field.name.split("-").map(Number);
  let from = row;
  if (isHeader(grid, lines[0])) {
    lines.shift().slice(0, MOST_COLUMNS - column).forEach((name, place) => {
      fieldAt(grid, row, column + place);
      const select = grid.tHead.rows[0].cells[column + place + 1].querySelector("select");
      const value = name.trim();
      if (value && ![...select.options].some((o) => o.value === value)) select.add(new Option(value, value));
      select.value = value;
    });
  }
  const widest = Math.min(MOST_COLUMNS - column, lines.reduce((most, cells) => Math.max(most, cells.length), 0));
  grow(grid, Math.min(MOST_ROWS, row + lines.length), column + widest);
  for (const cells of lines.slice(0, MOST_ROWS - row)) {
    cells.slice(0, MOST_COLUMNS - column).forEach((cell, place) => {
      fieldAt(grid, from, column + place).value = cell.trim();
    });
    from += 1;
  }
  field.dispatchEvent(new Event("input", { bubbles: true }));
  return true;
}

for (const grid of document.querySelectorAll("table[data-grid]")) {
  grid.addEventListener("input", (event) => {
    const rows = bodyRows(grid);
    if (rows.length < MOST_ROWS && rows[rows.length - 1].contains(event.target) && event.target.value !== "") addRows(grid, rows.length + 1);
  });
  grid.addEventListener("paste", (event) => {
    const field = event.target;
    if (field.tagName !== "INPUT" || !event.clipboardData) return;
    if (paste(grid, field, event.clipboardData.getData("text"))) event.preventDefault();
  });
  // Enter goes down, as in a spreadsheet, and never sends the form by chance.
  grid.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.target.tagName !== "INPUT") return;
    event.preventDefault();
    const [, row, column] = event.target.name.split("-").map(Number);
    if (row + 1 < MOST_ROWS) fieldAt(grid, row + 1, column).focus();
  });
  // Rows that were added before a reload come back before their cells are filled.
  const form = grid.closest("form[data-keep]");
  if (form) {
    let typed = [];
    try {
      typed = JSON.parse(sessionStorage.getItem("heatset:" + form.dataset.keep) || "[]");
    } catch {
      typed = [];
    }
    const needed = [0, 0];
    for (const [name] of Array.isArray(typed) ? typed : []) {
      const [kind, row, column] = String(name).split("-");
      if (kind !== "c" || !(Number(row) < MOST_ROWS) || !(Number(column) < MOST_COLUMNS)) continue;
      needed[0] = Math.max(needed[0], Number(row) + 1);
      needed[1] = Math.max(needed[1], Number(column) + 1);
    }
    grow(grid, needed[0], needed[1]);
    if (typeof restore === "function") restore(form);
  }
}

// A file that is chosen or dropped is read at once.
for (const form of document.querySelectorAll("form[data-send-file]")) {
  const field = form.querySelector("input[type=file]");
  field.addEventListener("change", () => {
    if (field.files.length > 0) form.requestSubmit(form.querySelector("button[value=file]"));
  });
}

// A fit's progress: lines change where they stand, so that only what is new is read out.
for (const part of document.querySelectorAll("[data-poll]")) {
  let failed = 0;
  const look = async () => {
    try {
      const response = await fetch(location.href, { headers: { "X-Heatset-Part": part.dataset.poll } });
      const text = await response.text();
      const seen = new DOMParser().parseFromString(text, "text/html");
      if (!response.ok || seen.querySelector("[data-done]")) {
        location.reload();
        return;
      }
      for (const line of seen.querySelectorAll("[id]")) {
        const here = document.getElementById(line.id);
        if (here && here.textContent !== line.textContent) here.textContent = line.textContent;
      }
      setTimeout(look, 500);
    } catch {
      failed += 1;
      if (failed === 5) part.insertAdjacentHTML("beforeend", "<p class=\"problem\" role=\"alert\">The page does not answer any more. What helps: start 'heatset page' again.</p>");
      setTimeout(look, 2000);
    }
  };
  setTimeout(look, 300);
}
