// Taps for a measure: first what gives the scale, then along what is measured; and the number on a plate.
const svg = (name, attributes = {}) => {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
};
const LEAST = { length: 2, width: 3, area: 3 };
const token = () => document.querySelector("meta[name=form-token]")?.content ?? "";
const read = (field) => [...(field?.value ?? "").matchAll(/(\d+(?:\.\d+)?)\s*,\s*(\d+(?:\.\d+)?)/g)].map((one) => ({ x: Number(one[1]), y: Number(one[2]) }));
const write = (points) => points.map((one) => `${Math.round(one.x * 10) / 10},${Math.round(one.y * 10) / 10}`).join(" ");

export class Taps {
  constructor(stage, here) { this.stage = stage; this.here = here; this.cross = null; this.show(); }
  get form() { return document.getElementById("measure-form"); }
  get kind() { return this.form.elements.object.value; }
  get what() { return this.form.elements.what.value; }
  get near() { return read(this.form.elements.near); }
  get points() { return read(this.form.elements.points); }
  get forScale() { return this.kind === "points" && this.near.length < 2; }
  down(point) {
    const field = this.form.elements[this.forScale ? "near" : "points"];
    field.value = write([...read(field), point]);
    this.tapped();
  }
  tapped() {
    this.show();
    if (!this.forScale && this.kind && this.points.length >= LEAST[this.what]) this.reckon();
  }
  key(event) {
    const step = Math.max(1, Math.round((event.altKey ? 1 : 8) * this.stage.per));
    const [dx, dy] = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key] ?? [0, 0];
    if (dx || dy) { this.cross = this.stage.inside({ x: this.cross.x + dx, y: this.cross.y + dy }); this.show(); return true; }
    if (event.key === " ") { this.down({ ...this.cross }); return true; }
    if (event.key === "Enter") { this.reckon(); return true; }
    if (event.key === "Backspace") {
      const field = this.form.elements[this.points.length ? "points" : "near"];
      field.value = write(read(field).slice(0, -1));
      this.show();
      return true;
    }
    return false;
  }
  start() {
    const { view } = this.stage;
    this.cross = this.stage.inside({ x: view.x + view.w / 2, y: view.y + view.h / 2 });
    this.show();
  }
  clear() {
    for (const name of ["near", "points"]) this.form.elements[name].value = "";
    document.getElementById("measure-says").replaceChildren();
    document.getElementById("reference").replaceChildren();
    this.note("");
    this.show();
  }
  show() {
    if (!this.form) return;
    const two = this.kind === "points";
    document.getElementById("apart-field").hidden = !two;
    document.getElementById("size-field").hidden = !this.kind.startsWith("marker");
    const more = LEAST[this.what] - this.points.length;
    const words = !this.kind ? "Choose what lies on the metal; it is looked for by itself." : this.forScale ? `Tap both ends of what is known: ${2 - this.near.length} to go.` : { length: "Tap along what is measured: both ends, or a seam point by point.", width: "Tap round a hole or a gap; its narrowest width is taken.", area: "Tap round it." }[this.what] + (more > 0 ? ` ${more} to go.` : "");
    document.getElementById("measure-next").textContent = words;
    const shapes = [];
    for (const [points, name] of [[this.near, "known"], [this.points, "taps"]]) {
      const closed = name === "taps" && this.what !== "length" && points.length > 2;
      const line = { points: write(points) };
      if (points.length > 1) shapes.push(svg(closed ? "polygon" : "polyline", { class: "halo", ...line }), svg(closed ? "polygon" : "polyline", { class: `line ${name}`, ...line }));
      shapes.push(...points.map((one) => svg("circle", { class: "grip small", cx: one.x, cy: one.y })));
    }
    if (this.cross && this.stage.tool === this) {
      const arm = 9 * this.stage.per;
      const d = `M${this.cross.x - arm} ${this.cross.y}h${2 * arm}M${this.cross.x} ${this.cross.y - arm}v${2 * arm}`;
      shapes.push(svg("path", { class: "halo", d }), svg("path", { class: "cross line", d }));
    }
    document.getElementById("reference").querySelector(".taps-of")?.remove();
    const group = svg("g", { class: "taps-of" });
    group.append(...shapes);
    document.getElementById("reference").append(group);
  }
  async reckon() {
    const says = document.getElementById("measure-says");
    const mine = (this.turn = (this.turn ?? 0) + 1);
    says.textContent = "Reckoning …";
    const text = await sent(this.form);
    if (mine !== this.turn) return;
    if (text === null) { says.textContent = "No connection; press Reckon again."; return; }
    says.innerHTML = text;
    const found = document.getElementById("measured");
    for (const old of document.querySelectorAll("#reference .object")) old.remove();
    if (found?.dataset.outline && this.kind !== "points") for (const name of ["halo", "line"]) document.getElementById("reference").prepend(svg("polygon", { class: `${name} object`, points: found.dataset.outline }));
    for (const halo of document.querySelectorAll("#reference .halo.object")) halo.parentNode.prepend(halo);
    this.note(found?.dataset.note ?? "");
  }
  note(words) {
    const form = document.getElementById("measure-note");
    if (!form) return;
    form.hidden = !words;
    form.elements.text.value = words;
  }
}
async function sent(form, more = {}) {
  const body = new URLSearchParams(new FormData(form));
  for (const [key, value] of Object.entries(more)) body.set(key, value);
  try {
    const answer = await fetch(form.getAttribute("action"), { method: "POST", body, headers: { "X-Weldworth-Form": token(), accept: "text/html" } });
    return await answer.text();
  } catch { return null; }
}
export async function plate(form, region) {
  const says = document.getElementById("plate-says");
  says.textContent = "Reading …";
  const text = await sent(form, { region: region ? region.join(",") : "" });
  if (text === null) { says.textContent = "No connection; press Read it again."; return; }
  says.innerHTML = text;
  const found = document.getElementById("plate-read");
  for (const old of document.querySelectorAll("#reference .plate-line")) old.remove();
  if (found) for (const name of ["line", "halo"]) document.getElementById("reference").prepend(svg("polygon", { class: `${name} plate-line`, points: found.dataset.outline.trim() }));
}
