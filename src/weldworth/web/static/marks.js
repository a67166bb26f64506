// What is drawn on a picture: a box or an outline, by pointer, thumb or keys, and what becomes of it in a form.
const NAMES = ["left", "top", "right", "bottom"];
const LEAST = 4;
const REACH = 22;
const svg = (name, attributes = {}) => {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
};

export class Marks {
  constructor(stage, layer) {
    this.stage = stage;
    this.layer = layer;
    this.box = null;
    this.points = [];
    this.closed = false;
    this.kind = "";
    this.onchange = () => {};
    this.onfinish = () => {};
  }
  get form() { return document.getElementById("mark"); }
  use(kind) {
    this.kind = kind;
    this.stage.tool = kind ? this : null;
    this.stage.box.classList.toggle("drawing", Boolean(kind));
    this.draw();
  }
  clear() { this.box = null; this.points = []; this.closed = false; this.draw(); this.write(); }
  /* as the form has it, when a finding is being corrected */
  read() {
    const numbers = NAMES.map((name) => this.form?.elements[name]?.value.trim());
    const points = [...(this.form?.elements.outline?.value ?? "").matchAll(/(\d+(?:\.\d+)?)\s*,\s*(\d+(?:\.\d+)?)/g)].map((one) => ({ x: Number(one[1]), y: Number(one[2]) }));
    this.points = points.length >= 3 ? points : [];
    this.closed = this.points.length > 0;
    this.box = !this.closed && numbers.every((one) => one && Number.isFinite(Number(one))) ? numbers.map(Number) : null;
    this.draw();
    this.tell();
  }
  write() {
    const fields = this.form?.elements;
    if (fields) {
      for (const [n, name] of NAMES.entries()) fields[name].value = this.box && !this.closed ? this.box[n] : "";
      fields.outline.value = this.closed ? this.points.map((one) => `${Math.round(one.x)},${Math.round(one.y)}`).join(" ") : "";
    }
    this.tell();
  }
  tell() {
    const words = document.getElementById("region-words");
    if (!words) return;
    words.textContent = this.closed ? `An outline of ${this.points.length} points.` : this.box ? `A box from ${this.box[0]}, ${this.box[1]} to ${this.box[2]}, ${this.box[3]}.` : "The whole picture, as long as nothing is drawn on it.";
    this.onchange();
  }
  get region() {
    if (!this.closed) return this.box;
    const xs = this.points.map((one) => one.x), ys = this.points.map((one) => one.y);
    return [Math.floor(Math.min(...xs)), Math.floor(Math.min(...ys)), Math.ceil(Math.max(...xs)), Math.ceil(Math.max(...ys))];
  }
  draw() {
    const shapes = [];
    if (this.points.length) {
      const points = this.points.map((one) => `${one.x},${one.y}`).join(" ");
      const name = this.closed ? "polygon" : "polyline";
      shapes.push(svg(name, { class: "halo", points }), svg(name, { class: "line", points }), ...this.points.map((one) => svg("circle", { class: "grip", cx: one.x, cy: one.y })));
    } else if (this.box) {
      const [left, top, right, bottom] = this.box;
      const place = { x: left, y: top, width: right - left, height: bottom - top };
      shapes.push(svg("rect", { class: "halo", ...place }), svg("rect", { class: "line", ...place }));
      for (const x of [left, right]) for (const y of [top, bottom]) shapes.push(svg("circle", { class: "grip", cx: x, cy: y }));
    }
    this.layer.replaceChildren(...shapes);
  }
  near(point, other) { return Math.hypot(point.x - other.x, point.y - other.y) < REACH * this.stage.per; }

  /* by pointer */
  down(point) {
    this.begun = point;
    this.grip = null;
    if (this.kind === "outline") {
      const at = this.points.findIndex((one) => this.near(one, point));
      if (at >= 0 && this.closed) this.grip = at;
      else if (at === 0 && this.points.length >= 3) this.close();
      else if (at < 0) { if (this.closed) { this.points = []; this.closed = false; } this.box = null; this.points.push(this.rounded(point)); this.draw(); }
      return;
    }
    if (this.box) {
      const [left, top, right, bottom] = this.box;
      const corner = [[left, top, right, bottom], [right, top, left, bottom], [left, bottom, right, top], [right, bottom, left, top]].find(([x, y]) => this.near({ x, y }, point));
      if (corner) this.begun = { x: corner[2], y: corner[3] };
      else if (point.x > left && point.x < right && point.y > top && point.y < bottom) this.grip = { point, box: [...this.box] };
    }
    this.kept = this.box;
  }
  drag(point) {
    if (!this.begun) return;
    if (this.kind === "outline") {
      if (typeof this.grip === "number") this.points[this.grip] = this.rounded(point);
      this.draw();
      return;
    }
    if (this.grip) this.put(this.grip.box, point.x - this.grip.point.x, point.y - this.grip.point.y);
    else this.span(this.begun, point);
    this.draw();
  }
  up(point) {
    if (!this.begun) return;
    const small = Math.hypot(point.x - this.begun.x, point.y - this.begun.y) < LEAST * this.stage.per;
    if (this.kind === "box") {
      if (small && !this.grip) this.box = this.kept ?? null;
      this.points = [];
      this.closed = false;
      this.draw();
      this.write();
      if (this.box && !small) this.onfinish();
    } else if (this.closed) this.write();
    this.begun = null;
  }
  cancel() {
    if (this.begun && this.kind === "box") this.box = this.kept ?? null;
    if (this.begun && this.kind === "outline" && !this.closed && this.grip === null) this.points.pop();
    this.begun = null;
    this.draw();
  }
  close() {
    if (this.points.length < 3) return;
    this.closed = true;
    this.begun = null;
    this.draw();
    this.write();
    this.onfinish();
  }
  rounded(point) { const { x, y } = this.stage.inside(point); return { x: Math.round(x), y: Math.round(y) }; }
  span(one, other) {
    const [a, b] = [this.rounded(one), this.rounded(other)];
    this.box = [Math.min(a.x, b.x), Math.min(a.y, b.y), Math.max(a.x, b.x), Math.max(a.y, b.y)];
    if (this.box[0] === this.box[2] || this.box[1] === this.box[3]) this.box = null;
  }
  put(box, dx, dy) {
    const [wide, high] = [this.stage.wide, this.stage.high];
    const x = Math.round(Math.min(Math.max(dx, -box[0]), wide - box[2]));
    const y = Math.round(Math.min(Math.max(dy, -box[1]), high - box[3]));
    this.box = [box[0] + x, box[1] + y, box[2] + x, box[3] + y];
  }

  /* by keys: a box in the middle of what is seen; arrows move it, with Shift they size it. An outline follows a cross. */
  start() {
    const { view, wide, high } = this.stage;
    const middle = this.rounded({ x: view.x + view.w / 2, y: view.y + view.h / 2 });
    if (this.kind === "outline") { this.cross = middle; this.points = []; this.closed = false; this.box = null; this.draw(); this.showCross(); return; }
    if (!this.box) {
      const half = Math.round(Math.min(view.w, view.h, wide, high) / 8);
      this.span({ x: middle.x - half, y: middle.y - half }, { x: middle.x + half, y: middle.y + half });
    }
    this.points = [];
    this.closed = false;
    this.draw();
    this.write();
  }
  showCross() {
    const arm = 9 * this.stage.per;
    this.layer.querySelector(".cross")?.remove();
    this.layer.append(svg("path", { class: "cross line", d: `M${this.cross.x - arm} ${this.cross.y}h${2 * arm}M${this.cross.x} ${this.cross.y - arm}v${2 * arm}` }));
  }
  key(event) {
    const step = Math.max(1, Math.round((event.altKey ? 1 : 8) * this.stage.per));
    const [dx, dy] = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key] ?? [0, 0];
    if (event.key === "Enter") {
      if (this.kind === "outline" && !this.closed) { if (this.points.length >= 3) this.close(); } else if (this.region) this.onfinish();
      return true;
    }
    if (this.kind === "outline") {
      if (event.key === "Backspace") { this.points.pop(); this.draw(); if (this.cross) this.showCross(); return true; }
      if (event.key === " " && this.cross) { this.box = null; this.points.push({ ...this.cross }); this.draw(); this.showCross(); return true; }
      if ((dx || dy) && this.cross) { this.cross = this.rounded({ x: this.cross.x + dx, y: this.cross.y + dy }); this.showCross(); return true; }
      return false;
    }
    if (!(dx || dy) || !this.box) return false;
    if (event.shiftKey) {
      const [left, top, right, bottom] = this.box;
      this.span({ x: left, y: top }, { x: Math.max(left + 2, right + dx), y: Math.max(top + 2, bottom + dy) });
    } else this.put(this.box, dx, dy);
    this.draw();
    this.write();
    return true;
  }
}
