// The number pad for readings: coating, wall, door gap, each with its unit.
import { el } from "./walk_parts.js";

const NAMES = { um: "micrometers", mil: "mil", mm: "millimeters", in: "inches" };
const MOST = 8;

export class Pad {
  constructor(changed) {
    Object.assign(this, { changed, text: "", kind: "", units: {}, kinds: [], keep: () => {} });
  }
  press(key) {
    if (key === "delete") this.text = this.text.slice(0, -1);
    else if (key === "minus") this.text = this.text.startsWith("-") ? this.text.slice(1) : `-${this.text}`;
    else if (key === "." ? !this.text.includes(".") : true) this.text = (this.text + key).slice(0, MOST);
    this.changed();
  }
  typed(event) {
    if (event.target.closest("select,input,textarea") || event.ctrlKey || event.metaKey || event.altKey) return;
    const key = { Backspace: "delete", ",": ".", "-": "minus" }[event.key] ?? event.key;
    if (/^[0-9.]$|^delete$/.test(key) || (key === "minus" && this.signed)) this.press(key);
    else if (event.key === "Enter" && this.text && !event.target.closest(".pad,.keep,.tabs,.tail,.top")) {
      event.preventDefault();
      this.done();
    }
  }
  get unit() { return this.units[this.kind] ?? this.choices[this.kind][0]; }
  get signed() { return this.kind === "door-gap"; }
  get value() { return /\d/.test(this.text) ? Number(this.text) : NaN; }
  done() {
    if (!Number.isFinite(this.value)) return;
    const { kind, value, unit } = this;
    this.text = "";
    this.keep(kind, value, unit);
  }
  view(kinds, choices, so, keep) {
    Object.assign(this, { kinds, choices, keep });
    if (!kinds.includes(this.kind)) Object.assign(this, { kind: kinds[0], text: "" });
    const key = (name, label = name, extra = {}) => el("button", { type: "button", "data-key": `k${name}`, onclick: () => this.press(name), ...extra }, label);
    const units = this.choices[this.kind];
    return el("div", { class: "reading" },
      kinds.length > 1 && el("div", { class: "kinds", role: "group", "aria-label": "Kind of reading" }, ...kinds.map((kind) => el("button", { type: "button", "data-key": kind, "aria-pressed": String(kind === this.kind), onclick: () => { Object.assign(this, { kind, text: "" }); this.changed(); } }, kind))),
      el("div", { class: "disp" }, el("output", { class: "num" }, this.text || "0"),
        el("div", { class: "units", role: "group", "aria-label": "Unit" }, ...units.map((unit) => el("button", { type: "button", "data-key": unit, "aria-pressed": String(unit === this.unit), title: NAMES[unit], onclick: () => { this.units[this.kind] = unit; this.changed(); } }, unit === "um" ? "µm" : unit)), this.signed && key("minus", "±", { "aria-label": "Change the sign" }))),
      so && el("p", { class: "note num" }, so),
      el("div", { class: "pad" }, ...["1", "2", "3", "4", "5", "6", "7", "8", "9"].map((n) => key(n)), key("."), key("0"), key("delete", "delete", { class: "t", "aria-label": "Delete the last figure" })),
      el("button", { type: "button", class: "btn go keep", "data-key": "keep", disabled: !Number.isFinite(this.value), onclick: () => this.done() }, Number.isFinite(this.value) ? `Keep ${this.text} ${NAMES[this.unit]}` : "Type the figure"));
  }
}
