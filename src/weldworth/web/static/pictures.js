// The grid: ticks that stay, rows of ticks with Shift, the list of zones searched by typing, filters that act at once.
import { searchable } from "./zones.js";

document.documentElement.classList.add("js");
let last = null;

const boxes = () => [...document.querySelectorAll(".grid input[name=picture]")];
const kept = new Set();

function count() {
  const now = boxes();
  const on = now.filter((box) => box.checked).length;
  const words = document.getElementById("ticked");
  if (words) words.textContent = on ? `${on} of ${now.length} ticked` : "Nothing ticked";
  const all = document.getElementById("tick-all");
  if (all) all.textContent = on && on === now.length ? "Tick none" : "Tick all shown";
  document.querySelector(".bar-of")?.classList.toggle("some", on > 0);
}

function begin(root) {
  for (const select of root.querySelectorAll(".chooser select")) searchable(select);
  root.querySelector("#zone")?.addEventListener("change", (event) => event.target.form.submit());
  root.querySelector("#tick-all")?.addEventListener("click", () => {
    const now = boxes(), all = now.every((box) => box.checked);
    for (const box of now) { box.checked = !all; if (all) kept.delete(box.value); else kept.add(box.value); }
    count();
  });
  const form = root.querySelector("#many");
  form?.addEventListener("click", (event) => {
    const box = event.target.closest("input[name=picture]");
    if (!box) return;
    const now = boxes();
    if (event.shiftKey && last) {
      const [from, to] = [now.findIndex((one) => one.value === last), now.indexOf(box)].sort((a, b) => a - b);
      for (const one of from < 0 ? [] : now.slice(from, to + 1)) one.checked = box.checked;
    }
    last = box.value;
    for (const one of now) if (one.checked) kept.add(one.value); else kept.delete(one.value);
    count();
  });
  /* What comes in from others is drawn anew; ticks are put back. */
  if (form) new MutationObserver(() => { for (const box of boxes()) box.checked ||= kept.has(box.value); count(); }).observe(form, { childList: true });
  for (const box of boxes()) if (box.checked) kept.add(box.value);
  count();
}

begin(document);
addEventListener("weldworth:page", (event) => begin(event.detail));
