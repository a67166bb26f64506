// What the machine sees: rust laid over the picture at a level that can be moved, what it says of a box, its suggestions.
const svg = (name, attributes = {}, ...inside) => {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...inside);
  return made;
};
const STEPS = 20;
const table = (level) => Array.from({ length: STEPS }, (_, n) => (n >= (level * STEPS) / 100 ? 1 : 0)).join(" ");
let shown = false, level = 50;

function layer(stage, here) {
  const size = { x: 0, y: 0, width: stage.wide, height: stage.high };
  const steps = ["R", "G", "B"].map((one) => svg(`feFunc${one}`, { type: "discrete", tableValues: table(level) }));
  const filter = svg("filter", { id: "rust-from", x: 0, y: 0, width: 1, height: 1, "color-interpolation-filters": "sRGB" }, svg("feComponentTransfer", {}, ...steps));
  const hatch = svg("pattern", { id: "rust-hatch", width: 8, height: 8, patternUnits: "userSpaceOnUse" }, svg("path", { class: "rust-line", d: "M1 0v8" }));
  const mask = svg("mask", { id: "rust-where", maskUnits: "userSpaceOnUse", ...size }, svg("image", { href: `${here}/rust.png`, ...size, preserveAspectRatio: "none", filter: "url(#rust-from)" }));
  return [svg("defs", {}, filter, hatch, mask), svg("g", { mask: "url(#rust-where)" }, svg("rect", { class: "rust-tint", ...size }), svg("rect", { fill: "url(#rust-hatch)", ...size }))];
}
export function overlay(stage, here) {
  const place = document.getElementById("rust");
  if (!place) return;
  if (!shown) place.replaceChildren();
  else if (!place.childElementCount) place.append(...layer(stage, here));
  for (const one of place.querySelectorAll("feFuncR,feFuncG,feFuncB")) one.setAttribute("tableValues", table(level));
  scaled(stage);
  const box = document.getElementById("rust-shown"), slide = document.getElementById("level"), words = document.getElementById("level-words");
  if (!box) return;
  box.checked = shown;
  slide.value = level;
  document.getElementById("rust-level").hidden = !shown;
  const row = [...document.querySelector(`#levels [data-level="${level}"]`)?.cells ?? []].map((one) => one.textContent);
  words.textContent = row.length ? `From ${level} in 100: ${row[1]} of the picture, ${row[2]}` : "";
}
export function scaled(stage) {
  document.getElementById("rust-hatch")?.setAttribute("patternTransform", `rotate(45) scale(${stage.per.toFixed(3)})`);
}
export async function ask(stage, here) {
  const place = document.getElementById("machine-says");
  if (!place || !stage.svg) return;
  if (!place.querySelector(".sight")) place.textContent = "Looking at it …";
  try {
    const answer = await fetch(`${here}/machine`, { headers: { accept: "text/html" } });
    const text = await answer.text();
    const now = document.getElementById("machine-says");
    if (!now || document.getElementById("large")?.dataset.here !== here) return;
    if (answer.ok) now.innerHTML = text;
    else now.textContent = "What the machine sees cannot be had just now; load the page anew.";
    overlay(stage, here);
  } catch { place.textContent = "No connection; what the machine sees comes when the page is loaded anew."; }
}
let turn = 0;
export async function inBox(here, region) {
  const place = document.getElementById("region-rust");
  if (!place) return;
  const mine = (turn += 1);
  const field = document.getElementById("quality");
  if (!region) {
    place.replaceChildren();
    if (field && field.value === field.dataset.offered) field.value = field.defaultValue;
    return;
  }
  await new Promise((go) => { setTimeout(go, 400); });
  if (mine !== turn) return;
  const answer = await fetch(`${here}/rust?region=${region.join(",")}`, { headers: { accept: "text/html" } }).catch(() => null);
  const text = answer ? await answer.text() : "";
  if (mine !== turn) return;
  place.innerHTML = text;
  /* the quality offered is that of what is marked, unless it was typed over */
  const q = place.querySelector("[data-q]")?.dataset.q;
  if (field && q && (field.value === field.defaultValue || field.value === field.dataset.offered)) field.value = field.dataset.offered = q;
}
export function changed(event, stage, here) {
  if (event.target.id === "rust-shown") shown = event.target.checked;
  else if (event.target.id === "level") level = Number(event.target.value);
  else return;
  overlay(stage, here);
}
