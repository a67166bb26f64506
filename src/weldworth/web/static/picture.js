// One picture large: larger and smaller, before and next, marks drawn on it, forms sent without losing the place.
import { ask, changed, inBox, overlay, scaled } from "./machine.js";
import { Marks } from "./marks.js";
import { Taps, plate } from "./measure.js";
import { Stage } from "./stage.js";
import { tell, untell } from "./telling.js";
import { searchable } from "./zones.js";

const token = document.querySelector("meta[name=form-token]")?.content ?? "";
const HINTS = {
  box: "Drag a box; drag its corners to size it, its middle to move it. Then tap a sign.",
  measure: "Tap on the picture; what comes next is said beside it.",
  outline: "Tap point after point; tap the first one, or press Enter, to close it. Then tap a sign.",
};
const STEP = 1.35;
let stage, beside, marks, taps;
const here = () => document.getElementById("large").dataset.here;
document.documentElement.classList.add("js");

/* Parts of the page that a form changed are put in place of the old ones; what is drawn and where one looks stays. */
function swap(page, names) {
  for (const name of names) {
    const [old, fresh] = [document, page].map((one) => one.querySelector(`[data-swap="${name}"]`));
    if (old && fresh) old.replaceWith(fresh);
  }
  enhance();
}
/* A picture that was just put on a zone is most likely about that zone. */
function propose(page) {
  const [own, fresh] = [document, page].map((one) => one.querySelector("#mark select[name=zone]"));
  if (!own || !fresh?.value || own.value === fresh.value) return;
  own.value = fresh.value;
  own.dispatchEvent(new Event("change", { bubbles: true }));
}
async function send(form, button) {
  const marking = form.id === "mark";
  const given = new FormData(form, button);
  try {
    const answer = await fetch(form.getAttribute("action"), { method: "POST", body: new URLSearchParams(given), headers: { "X-Weldworth-Form": token } });
    untell("lost");
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!page.getElementById("large")) { tell("refused", [...page.querySelectorAll("main p:not(.acts)")].map((one) => one.textContent).join(" "), [["Show it as it is now", () => location.reload()]]); return; }
    untell("refused");
    swap(page, ["done", "about", "found", "drawn", "places", "against", ...(marking || answer.status === 422 ? ["marking"] : [])]);
    if (form.getAttribute("action").endsWith("/zones") && answer.ok) propose(page);
    const fresh = page.querySelector("#mark [name=revision]"), own = document.querySelector("#mark [name=revision]");
    if (fresh && own) own.value = fresh.value;
    if (marking && answer.ok) {
      marks.clear();
      use("");
      if (new URL(location.href).searchParams.has("change")) history.replaceState(null, "", location.pathname);
    } else if (marking) marks.write();
    else if (form.getAttribute("action").endsWith("/place") && answer.ok) { marks.clear(); use(""); }
    if (form.id === "measure-note" && answer.ok) taps.note("");
    ask(stage, here());
    const wrong = document.querySelector("[data-swap=marking] .told, [data-swap=about] .wrong");
    if (wrong && answer.status === 422) wrong.scrollIntoView({ block: "center" });
    else document.querySelector("[data-swap=done] .btn")?.focus({ preventScroll: true });
  } catch {
    tell("lost", "No connection; nothing was sent. What you drew and chose is still here.", [["Send it again", () => send(form, button)]]);
  }
}

/* What a drag does. */
function use(tool) {
  marks?.use(tool === "measure" ? "" : tool);
  if (tool === "measure") { stage.tool = taps; stage.box.classList.add("drawing"); document.querySelector("#measure details").open = true; taps.show(); }
  for (const one of document.querySelectorAll("[data-tool]")) one.setAttribute("aria-pressed", String(one.dataset.tool === tool));
  const hint = document.getElementById("hint");
  if (hint) hint.textContent = HINTS[tool] ?? "";
}

/* Before and next: the page's content is put in place of the old. */
async function go(address, push = true) {
  const answer = await fetch(address, { headers: { accept: "text/html" } }).catch(() => null);
  const page = answer?.ok ? new DOMParser().parseFromString(await answer.text(), "text/html") : null;
  if (!page?.getElementById("large")) { location.assign(address); return; }
  if (push) history.pushState(null, "", address);
  document.title = page.title;
  document.querySelector("main").replaceWith(page.querySelector("main"));
  begin();
  stage.box.focus({ preventScroll: true });
}
function step(which) {
  const link = document.getElementById(which);
  if (link) go(link.href);
}

function enhance() {
  for (const select of document.querySelectorAll(".chooser select")) searchable(select);
}
function begin() {
  const box = document.getElementById("stage");
  if (!box?.querySelector("svg")) { enhance(); stage = { box: box ?? document.body, whole: true }; return; }
  stage = new Stage(box);
  stage.onswipe = step;
  marks = new Marks(stage, document.getElementById("drawing"));
  marks.onfinish = finished;
  marks.onchange = () => {
    const drawn = document.getElementById("with-region");
    if (drawn) drawn.hidden = !marks.region;
    inBox(here(), marks.region);
  };
  const other = document.getElementById("stage-beside");
  beside = other?.querySelector("svg") ? new Stage(other) : null;
  stage.onview = () => scaled(stage);
  if (beside) link();
  taps = new Taps(stage, here());
  enhance();
  marks.read();
  overlay(stage, here());
  ask(stage, here());
  for (const near of document.querySelectorAll("[data-ahead]")) new Image().src = near.dataset.ahead;
}
function link() {
  let turning = false;
  const follow = (one, two) => () => {
    if (turning || !document.getElementById("linked")?.checked) return;
    turning = true;
    const place = one.relative;
    two.show(document.getElementById("mirrored")?.checked ? { ...place, x: 1 - place.x } : place);
    turning = false;
  };
  const both = follow(stage, beside);
  stage.onview = () => { scaled(stage); both(); };
  beside.onview = follow(beside, stage);
}
function finished() {
  const form = document.getElementById("mark");
  const zone = form.elements.zone;
  const section = document.getElementById("marking");
  if (section.getBoundingClientRect().top > innerHeight - 160 || section.getBoundingClientRect().bottom < 0) section.scrollIntoView({ block: "nearest" });
  (zone.value ? form.querySelector(".signs .btn") : form.querySelector("[role=combobox]"))?.focus({ preventScroll: true });
}

/* A box drawn becomes the place of the zone that is chosen in the form. */
function placeZone() {
  const form = document.getElementById("mark");
  if (!form.elements.zone.value) { form.querySelector("[role=combobox]").focus(); return; }
  const made = document.createElement("form");
  made.setAttribute("action", `${here()}/place`);
  const [left, top, right, bottom] = marks.region;
  for (const [name, value] of Object.entries({ large: form.elements.large.value, at: form.elements.zone.value, left, top, right, bottom })) made.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
  send(made);
}
/* Another sign in place of a suggested one: its box and zone go into the form, and it is put aside with the finding. */
function correct(button) {
  const form = document.getElementById("mark");
  const { instead, zone, region } = button.dataset;
  form.elements.instead.value = zone ? `${instead}:${zone}` : instead;
  const words = document.getElementById("instead-words");
  words.textContent = `Instead of ${instead.replaceAll("-", " ")}, which is put aside with it: choose the sign, and the zone if it is another.`;
  words.hidden = false;
  if (zone) { form.elements.zone.value = zone; form.elements.zone.dispatchEvent(new Event("change", { bubbles: true })); }
  if (region) { [..."left top right bottom".split(" ").entries()].forEach(([n, side]) => { form.elements[side].value = region.split(",")[n]; }); marks.read(); }
  document.getElementById("marking").scrollIntoView({ block: "nearest" });
  form.querySelector(".signs .btn").focus({ preventScroll: true });
}

document.addEventListener("click", (event) => {
  const tool = event.target.closest("[data-tool]"), zoom = event.target.closest("[data-zoom]"), change = event.target.closest("[data-change]");
  const steps = event.target.closest("#before, #after");
  if (steps && !event.ctrlKey && !event.metaKey && !event.shiftKey) { event.preventDefault(); go(steps.href); }
  if (tool) { use(tool.dataset.tool); if (tool.dataset.tool) stage.box.focus({ preventScroll: true }); }
  if (event.target.closest("[data-clear]")) { marks.clear(); use(""); }
  if (event.target.closest("#measure-again")) taps.clear();
  if (event.target.closest("[data-place]")) placeZone();
  const instead = event.target.closest("[data-instead]");
  if (instead) correct(instead);
  if (zoom) stage.zoom({ in: STEP, out: 1 / STEP, whole: 1 / stage.scale }[zoom.dataset.zoom]);
  if (change) {
    event.preventDefault();
    fetch(change.href).then((answer) => answer.text()).then((text) => {
      swap(new DOMParser().parseFromString(text, "text/html"), ["marking"]);
      marks.read();
      use(marks.closed ? "outline" : "box");
      document.getElementById("marking").scrollIntoView({ block: "nearest" });
    }).catch(() => location.assign(change.href));
  }
});
document.addEventListener("input", (event) => { if (event.target.id === "level") changed(event, stage, here()); });
document.addEventListener("submit", (event) => {
  if (event.target.id === "measure-form") { event.preventDefault(); taps.reckon(); return; }
  if (event.target.id === "plate-form") { event.preventDefault(); plate(event.target, marks.region); return; }
  if (!event.target.closest(".large, [data-swap=done]") || event.target.method !== "post") return;
  event.preventDefault();
  send(event.target, event.submitter);
});
document.addEventListener("change", (event) => {
  if (stage.svg) changed(event, stage, here());
  if (event.target.closest("#measure-form")) taps.tapped();
  if (event.target.matches("#assign select") && event.target.value) event.target.form.requestSubmit(event.target.form.querySelector(".put"));
  if (event.target.id === "mirrored") beside?.svg.classList.toggle("as-in-mirror", event.target.checked);
  if (event.target.id === "letters") localStorage.setItem("weldworth-letters", event.target.checked ? "on" : "off");
  if (event.target.closest("#mark") && ["left", "top", "right", "bottom", "outline"].includes(event.target.name)) marks.read();
});
for (const name of ["pointerover", "focusin"]) document.addEventListener(name, (event) => {
  const seq = event.target.closest?.(".marks li, .mark")?.dataset.seq;
  for (const one of document.querySelectorAll(".marks li, .mark")) one.classList.toggle("on", Boolean(seq) && one.dataset.seq === seq);
});
addEventListener("popstate", () => go(location.href, false));

addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || !document.getElementById("large")) return;
  if (event.target.closest("input,select,textarea,[role=listbox]")) return;
  const onStage = Boolean(event.target.closest(".stage")), free = onStage || event.target === document.body || event.target.id === "main";
  if (event.key === "PageUp" || event.key === "PageDown") { event.preventDefault(); step(event.key === "PageUp" ? "before" : "after"); return; }
  if (event.key === "Escape") { use(""); if (!document.querySelector("#mark [name=seq]")) marks?.clear(); return; }
  if (!free) return;
  if (stage.tool && stage.tool.key(event)) { event.preventDefault(); return; }
  const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  if (arrow && !event.altKey) {
    if (!stage.whole) { event.preventDefault(); stage.move(arrow[0] * stage.view.w * 0.15, arrow[1] * stage.view.h * 0.15); }
    else if (arrow[0]) { event.preventDefault(); step(arrow[0] < 0 ? "before" : "after"); }
    return;
  }
  if (event.altKey || localStorage.getItem("weldworth-letters") === "off") return;
  const key = event.key.toLowerCase();
  if (key === "+" || key === "=") stage.zoom(STEP);
  else if (key === "-") stage.zoom(1 / STEP);
  else if (key === "0") stage.zoom(1 / stage.scale);
  else if ((key === "b" || key === "o") && document.getElementById("mark")) { use(key === "b" ? "box" : "outline"); marks.start(); stage.box.focus({ preventScroll: true }); }
  else if (key === "m" && taps?.form) { use("measure"); taps.start(); stage.box.focus({ preventScroll: true }); }
  else if (key === "l" || key === "n") document.querySelector(`#assign [data-key=${key}]`)?.click();
  else return;
  event.preventDefault();
});

begin();
const letters = document.getElementById("letters");
if (letters) letters.checked = localStorage.getItem("weldworth-letters") !== "off";
addEventListener("weldworth:page", begin);
