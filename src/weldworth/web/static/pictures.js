// The grid: ticks that stay, rows of ticks with Shift, the list of zones searched by typing, filters that act at once.
import { searchable } from "./zones.js";

document.documentElement.classList.add("js");
let last = null;

const boxes = () => [...document.querySelectorAll(".grid input[name=picture]")];
const kept = new Set();

function count() {
  const now = boxes();
  const on = now.filter((box) => box.checked).length;
  const bar = document.querySelector(".bar-of");
  if (!bar) return;
  const words = document.getElementById("ticked"), all = document.getElementById("tick-all");
  words.replaceChildren(...(on ? [`${on}`, wide(` of ${now.length}`), " ticked"] : ["Nothing ticked"]));
  all.replaceChildren(...(on && on === now.length ? ["Tick none"] : ["Tick all", wide("\u00a0shown")]));
  bar.classList.toggle("some", on > 0);
  open(bar.classList.contains("open"));
}

/* Words for which a phone has no room. */
function wide(text) {
  const one = document.createElement("span");
  one.className = "wide";
  one.textContent = text;
  return one;
}

/* On a phone the bar is one row until somebody wants to put what is ticked on a zone. */
function open(wanted) {
  const bar = document.querySelector(".bar-of"), put = document.getElementById("put");
  bar.classList.toggle("open", wanted);
  put.textContent = wanted ? "Close" : "Put on a zone";
  put.setAttribute("aria-expanded", wanted);
  put.classList.toggle("go", !wanted);
}

function begin(root) {
  for (const select of root.querySelectorAll(".chooser select")) searchable(select);
  root.querySelector("#zone")?.addEventListener("change", (event) => event.target.form.submit());
  root.querySelector("#tick-all")?.addEventListener("click", () => {
    const now = boxes(), all = now.every((box) => box.checked);
    for (const box of now) { box.checked = !all; if (all) kept.delete(box.value); else kept.add(box.value); }
    count();
  });
  root.querySelector("#put")?.addEventListener("click", () => open(!document.querySelector(".bar-of").classList.contains("open")));
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
