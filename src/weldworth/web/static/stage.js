// A picture that is made larger and moved: wheel, pinch, double tap, drag, keys. All in pixels of the picture itself.
const MOST = 24;
const SHARPER = 1.6;
const FAR = 60;

export class Stage {
  constructor(box) {
    this.box = box;
    this.svg = box.querySelector("svg");
    this.wide = Number(box.dataset.wide);
    this.high = Number(box.dataset.high);
    this.tool = null;
    this.onview = () => {};
    this.onswipe = () => {};
    this.pointers = new Map();
    this.middle = { x: this.wide / 2, y: this.high / 2 };
    this.scale = 1;
    if (!this.svg) return;
    this.fit();
    box.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    for (const name of ["pointerdown", "pointermove", "pointerup", "pointercancel"]) box.addEventListener(name, (event) => this[name](event));
    box.addEventListener("dblclick", (event) => { if (!this.tool) this.zoom(this.scale > 1.05 ? 1 / this.scale : 2.5, this.at(event)); });
    new ResizeObserver(() => this.fit()).observe(this.svg);
  }
  get per() { return this.view.w / Math.max(this.svg.clientWidth, 1); }
  get whole() { return this.scale < 1.02; }
  at(event) {
    const place = this.svg.getBoundingClientRect();
    return { x: this.view.x + ((event.clientX - place.left) / place.width) * this.view.w, y: this.view.y + ((event.clientY - place.top) / place.height) * this.view.h };
  }
  inside(point) { return { x: Math.min(Math.max(point.x, 0), this.wide), y: Math.min(Math.max(point.y, 0), this.high) }; }
  fit() {
    const shape = this.svg.clientWidth / Math.max(this.svg.clientHeight, 1) || this.wide / this.high;
    const tall = shape > this.wide / this.high;
    const [w, h] = tall ? [this.high * shape, this.high] : [this.wide, this.wide / shape];
    this.view = { w: w / this.scale, h: h / this.scale };
    for (const [side, length, part] of [["x", this.wide, this.view.w], ["y", this.high, this.view.h]]) {
      this.middle[side] = part >= length ? length / 2 : Math.min(Math.max(this.middle[side], part / 2), length - part / 2);
      this.view[side] = this.middle[side] - part / 2;
    }
    this.svg.setAttribute("viewBox", `${this.view.x} ${this.view.y} ${this.view.w} ${this.view.h}`);
    this.svg.style.setProperty("--px", String(this.per));
    this.box.classList.toggle("larger", !this.whole);
    if (this.scale > SHARPER) this.sharpen();
    this.onview();
  }
  sharpen() {
    const image = this.svg.querySelector("image");
    if (this.sharp || image.href.baseVal === this.box.dataset.full) return;
    this.sharp = new Image();
    this.sharp.addEventListener("load", () => image.setAttribute("href", this.box.dataset.full));
    this.sharp.src = this.box.dataset.full;
  }
  zoom(times, about = this.middle) {
    const before = this.scale;
    this.scale = Math.min(Math.max(this.scale * times, 1), MOST);
    const kept = before / this.scale;
    this.middle = { x: about.x + (this.middle.x - about.x) * kept, y: about.y + (this.middle.y - about.y) * kept };
    this.fit();
  }
  move(dx, dy) { this.middle.x += dx; this.middle.y += dy; this.fit(); }
  show(relative) {
    this.scale = relative.scale;
    this.middle = { x: relative.x * this.wide, y: relative.y * this.high };
    this.fit();
  }
  get relative() { return { scale: this.scale, x: this.middle.x / this.wide, y: this.middle.y / this.high }; }
  wheel(event) {
    event.preventDefault();
    this.zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0018)), this.at(event));
  }
  pointerdown(event) {
    if (event.button || event.target.closest("button,a")) return;
    this.box.focus({ preventScroll: true });
    this.pointers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    this.begun = { x: event.clientX, y: event.clientY, at: event.timeStamp, touch: event.pointerType === "touch", alone: this.pointers.size === 1 };
    try { this.box.setPointerCapture(event.pointerId); } catch { /* the pointer is gone already */ }
    if (this.pointers.size > 1) { this.tool?.cancel?.(); return; }
    if (this.tool) { event.preventDefault(); this.tool.down?.(this.inside(this.at(event)), event); }
  }
  pointermove(event) {
    const old = this.pointers.get(event.pointerId);
    if (!old) { this.tool?.hover?.(this.inside(this.at(event)), event); return; }
    const now = { x: event.clientX, y: event.clientY };
    if (this.pointers.size === 2) {
      const other = [...this.pointers].find(([id]) => id !== event.pointerId)[1];
      const apart = (one) => Math.max(Math.hypot(one.x - other.x, one.y - other.y), 1);
      const per = this.per;
      this.move((-(now.x - old.x) * per) / 2, (-(now.y - old.y) * per) / 2);
      this.zoom(apart(now) / apart(old), this.at({ clientX: (now.x + other.x) / 2, clientY: (now.y + other.y) / 2 }));
    } else if (this.tool) this.tool.drag?.(this.inside(this.at(event)), event);
    else if (!this.whole) this.move(-(now.x - old.x) * this.per, -(now.y - old.y) * this.per);
    this.pointers.set(event.pointerId, now);
  }
  pointerup(event) {
    if (!this.pointers.delete(event.pointerId)) return;
    if (this.pointers.size || !this.begun?.alone) return;
    if (this.tool) { this.tool.up?.(this.inside(this.at(event)), event); return; }
    const dx = event.clientX - this.begun.x, dy = event.clientY - this.begun.y;
    if (this.begun.touch && this.whole && Math.abs(dx) > FAR && Math.abs(dx) > 2 * Math.abs(dy) && event.timeStamp - this.begun.at < 800) this.onswipe(dx < 0 ? "after" : "before");
  }
  pointercancel(event) {
    this.pointers.delete(event.pointerId);
    this.tool?.cancel?.();
  }
}
