// A list of zones that is searched by typing. Without this script it is a plain list.
import { onDrawing } from "./on_drawing.js";

const MOST = 8;
let number = 0;

export function searchable(select) {
  if (select.dataset.searchable) return;
  select.dataset.searchable = "yes";
  const id = `zones-${(number += 1)}`;
  const field = document.createElement("input");
  const list = document.createElement("ul");
  const label = document.querySelector(`label[for="${select.id}"]`);
  Object.assign(field, { type: "text", id: `${id}-find`, autocomplete: "off", placeholder: "type a part of its name" });
  for (const [key, value] of Object.entries({ role: "combobox", "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": id })) field.setAttribute(key, value);
  list.id = id;
  list.hidden = true;
  list.className = "found-zones";
  list.setAttribute("role", "listbox");
  list.setAttribute("aria-label", "Zones");
  if (label) label.htmlFor = field.id;
  select.hidden = true;
  select.after(field, list);
  if (document.body.dataset.candidate) list.after(onDrawing(choose));
  const zones = [...select.querySelectorAll("option[value]:not([value=''])")].map((one) => ({ id: one.value, label: one.textContent, station: one.closest("optgroup")?.label ?? "", words: `${one.textContent} ${one.closest("optgroup")?.label ?? ""}`.toLowerCase() }));
  const named = () => zones.find((one) => one.id === select.value)?.label ?? "";
  let at = -1;

  function close() {
    list.hidden = true;
    at = -1;
    field.setAttribute("aria-expanded", "false");
    field.removeAttribute("aria-activedescendant");
  }
  function open(text) {
    const parts = text.toLowerCase().split(/\s+/).filter(Boolean);
    const found = zones.filter((one) => parts.every((part) => one.words.includes(part))).sort((a, b) => b.words.startsWith(parts[0] ?? "") - a.words.startsWith(parts[0] ?? "")).slice(0, MOST);
    list.replaceChildren(...found.map((one, place) => {
      const row = document.createElement("li");
      const note = document.createElement("span");
      row.id = `${id}-${place}`;
      row.setAttribute("role", "option");
      row.dataset.zone = one.id;
      row.textContent = one.label;
      note.className = "note";
      note.textContent = one.station;
      row.append(note);
      return row;
    }));
    if (!found.length) {
      const row = document.createElement("li");
      row.setAttribute("role", "option");
      row.setAttribute("aria-disabled", "true");
      row.textContent = "No zone is called that.";
      list.append(row);
    }
    list.hidden = false;
    field.setAttribute("aria-expanded", "true");
    mark(parts.length && found.length ? 0 : -1);
  }
  function mark(place) {
    const rows = [...list.querySelectorAll("[data-zone]")];
    at = Math.max(-1, Math.min(rows.length - 1, place));
    for (const [n, row] of rows.entries()) row.setAttribute("aria-selected", String(n === at));
    if (at < 0) field.removeAttribute("aria-activedescendant");
    else { field.setAttribute("aria-activedescendant", rows[at].id); rows[at].scrollIntoView({ block: "nearest" }); }
  }
  function choose(zone) {
    select.value = zone;
    field.value = named();
    close();
    select.dispatchEvent(new Event("change", { bubbles: true }));
  }
  field.value = named();
  field.addEventListener("focus", () => { field.select(); open(""); });
  field.addEventListener("input", () => open(field.value));
  field.addEventListener("blur", () => { close(); if (field.value.trim()) field.value = named(); else if (select.value) { select.value = ""; select.dispatchEvent(new Event("change", { bubbles: true })); } });
  field.addEventListener("keydown", (event) => {
    if (event.key === "Escape") { if (!list.hidden) event.stopPropagation(); close(); field.value = named(); }
    else if (event.key === "ArrowDown" || event.key === "ArrowUp") { event.preventDefault(); if (list.hidden) open(field.value === named() ? "" : field.value); else mark(at + (event.key === "ArrowDown" ? 1 : -1)); }
    else if (event.key === "Enter" && !list.hidden && at >= 0) { event.preventDefault(); choose(list.querySelectorAll("[data-zone]")[at].dataset.zone); }
  });
  list.addEventListener("pointerdown", (event) => event.preventDefault());
  const press = (event) => { const row = event.target.closest("[data-zone]"); if (row) choose(row.dataset.zone); return row; };
  list.addEventListener("click", press);
  // A second quick tap is held back as one half of a double tap: the finger's lift counts, unless it scrolled.
  list.addEventListener("touchend", (event) => { if (event.cancelable && press(event)) event.preventDefault(); });
  select.addEventListener("change", () => { field.value = named(); });
}
