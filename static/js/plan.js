// Dragging in the term plan: a row to another place, a bar to another week. Each drop fills in and
// sends the same form as the buttons do, so that the server decides and nothing depends on this.
"use strict";

let dragged = null;
const planTable = () => document.querySelector("table[data-plan]");

function send(id, fields) {
  const form = document.getElementById(id);
  if (!form) return;
  for (const [name, value] of Object.entries(fields)) form.elements.namedItem(name).value = value;
  form.requestSubmit();
}

function weekAt(x) {
  return [...planTable().tHead.querySelectorAll("th[data-first]")].find((head) => {
    const box = head.getBoundingClientRect();
    return x >= box.left && x < box.right;
  });
}

function clear() {
  for (const marked of document.querySelectorAll(".drop-over")) marked.classList.remove("drop-over");
}

function goal({ target, clientX }) {
  if (!dragged || !planTable()?.contains(target)) return null;
  if (dragged.bar) return weekAt(clientX);
  return target.closest("tr[data-entry]");
}

document.addEventListener("dragstart", (event) => {
  const bar = event.target.closest?.("[data-bar]"), row = event.target.closest?.("tr[data-entry]");
  if (!bar && !row) return;
  dragged = bar ? { bar: bar.dataset.bar } : { entry: row.dataset.entry };
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", dragged.bar || dragged.entry);
});

document.addEventListener("dragover", (event) => {
  const over = goal(event);
  clear();
  if (!over) return;
  event.preventDefault();
  over.classList.add("drop-over");
});

document.addEventListener("drop", (event) => {
  const over = goal(event);
  if (!over) return;
  event.preventDefault();
  if (dragged.bar) send("drag-target", { entry: dragged.bar, place: over.dataset.first });
  else if (over.dataset.entry !== dragged.entry) send("drag-move", { entry: dragged.entry, to: over.dataset.place });
});

document.addEventListener("dragend", () => { dragged = null; clear(); });
