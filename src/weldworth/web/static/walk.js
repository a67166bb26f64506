// A walk on the phone: stop by stop, zone by zone; what is found is taken down at once and sent when it can be.
import { newId, Queue } from "./queue.js";
import { el, hears, iconOf } from "./walk_parts.js";
import { Pad } from "./walk_pad.js";
import { Memo } from "./walk_memo.js";
import { keepOffline } from "./offline.js";

const data = JSON.parse(document.getElementById("walk-data").textContent);
const root = document.getElementById("walk");
const token = document.querySelector("meta[name=form-token]").content;
const place = `walk ${data.walk}`;
const all = data.stops.flatMap((stop, s) => stop.zones.map((zone, z) => ({ ...zone, s, z })));
const zoneOf = Object.fromEntries(all.map((zone) => [zone.id, zone]));
let records = [];
let waiting = 0, refused = 0, line = { up: true, reason: "" }, kept = "";
const now = {};
let ceiling = "";
let at = { view: "stop", s: 0, z: 0, tab: "seen", sign: "" };
try { at = { ...at, ...JSON.parse(localStorage.getItem(place)) }; } catch { /* a first visit */ }
if (!data.stops[at.s]?.zones[at.z]) at = { ...at, s: 0, z: 0, view: "stop" };
if (data.stops[at.s].zones[at.z].place) at.tab = "reading"; // at the place of a door gap there is nothing to see or to probe

const queue = await Queue.open(`${data.base}/up`, { headers: () => ({ "X-Weldworth-Form": token }) });
const words = (id) => id.replaceAll("-", " ");
const clock = (moment) => new Date(moment).toTimeString().slice(0, 5);
const say = (text) => { document.getElementById("said").textContent = text; };
const here = () => data.stops[at.s].zones[at.z];
const of = (zone) => records.filter((one) => one.zone === zone);
const go = (to) => {
  at = { ...at, sign: "", ...to };
  if (here().place) at.tab = "reading";
  try { localStorage.setItem(place, JSON.stringify({ view: at.view === "list" ? "zone" : at.view, s: at.s, z: at.z })); } catch { /* no room: only the place is lost */ }
  draw();
  scrollTo(0, 0);
};

/* Taking down. What the page came with and what is on the phone, put together: a thing undone is in neither. */
const REASONS = { offline: "no reception", full: "the desk’s disk is full", busy: "the desk is busy", login: "log in again", gone: "this walk is not open any more", fault: "the desk has a fault" };
function shortOf({ kind, body }) {
  if (kind === "finding") return `${body.absent ? "no " : ""}${words(body.sign)}`;
  if (kind === "reading") return `${words(body.reading)} ${body.value} ${body.unit}`;
  if (kind === "skip") return data.reasons.find(([reason]) => reason === body.reason)?.[1] ?? kind;
  return { note: body.text, memo: `memo of ${Math.round(body.seconds ?? 0)} s` }[kind] ?? kind;
}
const rowOf = (item) => ({
  mark: item.id, kind: item.kind, zone: item.body.zone ?? "", short: shortOf(item), at: new Date(item.made).toISOString(), told: item.reply?.words, why: item.problem?.text,
  where: { done: "desk", refused: "refused" }[item.state] ?? "phone", reading: item.kind === "reading" ? { kind: item.body.reading, value: item.body.value, unit: item.body.unit } : undefined,
});
async function gather() {
  const items = await queue.items();
  const undone = new Set(items.filter((one) => one.kind === "undo" && one.state !== "refused").map((one) => one.body.of));
  const there = new Set(data.records.map((one) => one.mark));
  records = [...data.records.map((one) => ({ ...one, where: "desk" })), ...items.filter((one) => one.kind !== "undo" && !there.has(one.id)).map(rowOf)].filter((one) => !undone.has(one.mark));
  waiting = items.filter((one) => one.state === "waiting").length;
  refused = items.filter((one) => one.state === "refused").length;
}
async function take(kind, body, short, file = null) {
  try { await queue.add(kind, body, file, newId()); } catch { say("This phone has no room left. Nothing was kept."); alert("This phone has no room left, so this was not kept. Make room, then take it again."); return; }
  say(`Kept: ${short}.`);
  navigator.vibrate?.(30);
}
async function takeBack(record) {
  delete now[record.zone];
  if (record.where === "refused") await queue.remove(record.mark);
  else await queue.add("undo", { of: record.mark }, null, newId());
  say(`Taken back: ${record.short}.`);
}
queue.addEventListener("line", ({ detail }) => { line = detail; draw(); });
queue.addEventListener("change", async ({ detail }) => {
  await gather();
  draw();
  if (detail?.state === "refused") say(`Not taken: ${detail.problem?.text ?? ""}`);
  if (detail?.state !== "done") return;
  if (detail.reply?.words) say(detail.reply.words);
  if (data.sees && detail.kind !== "note") ask(detail.body.zone ?? "");
});
let asking;
function ask(zone) {
  clearTimeout(asking);
  asking = setTimeout(async () => {
    try {
      const answer = await fetch(`${data.base}/running?zone=${encodeURIComponent(zone)}`, { headers: { Accept: "application/json" }, cache: "no-store" });
      if (!answer.ok) return;
      const found = await answer.json();
      for (const one of found.zones) if (of(one.zone).length) now[one.zone] = one;
      ceiling = found.ceiling;
      draw();
    } catch { /* no reception: it is told with the next thing sent */ }
  }, 400);
}

/* Pieces of the page */
function status() {
  const text = refused ? `${refused} not taken` : waiting ? `${waiting} only on this phone` : line.up ? "all sent" : REASONS[line.reason];
  return el("button", { class: "status", type: "button", onclick: () => go({ view: "list", from: at.view === "list" ? at.from : at.view }) }, text);
}
function top(left, to) {
  const done = all.filter((zone) => of(zone.id).length).length;
  return [
    el("header", { class: "top" }, el("button", { type: "button", class: "plain", onclick: to }, left), status()),
    el("progress", { max: all.length, value: done, "aria-label": `${done} of ${all.length} looked at` }),
  ];
}
function lastHere(zone) {
  const found = of(zone.id);
  const last = found.at(-1);
  const believed = now[zone.id];
  return el("div", { class: "kept-here" },
    last && el("p", {}, `${found.length > 1 ? `${found.length} kept here, last` : "Kept"}: ${last.short}, ${clock(last.at)}. `, el("button", { type: "button", class: "link", onclick: () => takeBack(last) }, "Take back")),
    last?.told && el("p", { class: "caution" }, last.told),
    believed && el("p", { class: "now" }, `Now ${believed.bad} in 100 that it is bad, most likely ${believed.likely}.`, ceiling && ` ${ceiling}`));
}
function step(by) {
  const flat = all.findIndex((zone) => zone.s === at.s && zone.z === at.z) + by;
  const next = all[flat];
  if (flat < 0) go({ view: "stop", tab: "seen" });
  else if (!next) go({ view: "end" });
  else go({ s: next.s, z: next.z, tab: "seen", view: next.s === at.s ? "zone" : "stop" });
}

/* Views */
function stopView() {
  const stop = data.stops[at.s];
  return [
    ...top(`Stop ${at.s + 1} of ${data.stops.length}`, () => go({ view: "route" })),
    el("section", { class: "sheet-of" },
      el("h1", {}, stop.name),
      el("p", { class: "note" }, `${stop.station}, about ${stop.minutes} min`),
      el("ol", {}, ...stop.zones.map((zone) => el("li", { class: of(zone.id).length ? "has" : "" }, zone.label, zone.first && el("span", { class: "note" }, " rusts first"), of(zone.id).length ? el("span", { class: "note" }, ` ${of(zone.id).length} kept`) : null))),
      el("p", { class: "caution" }, stop.caution)),
    el("div", { class: "low" }, el("button", { type: "button", class: "btn go", onclick: () => go({ view: "zone", z: 0, tab: "seen" }) }, "I am there"),
      el("div", { class: "pair" }, el("button", { type: "button", class: "btn", disabled: at.s === 0, onclick: () => go({ s: at.s - 1, z: 0 }) }, "Stop before"), el("button", { type: "button", class: "btn", onclick: () => (at.s + 1 < data.stops.length ? go({ s: at.s + 1, z: 0 }) : go({ view: "end" })) }, "Pass it by"))),
  ];
}
function zoneView() {
  const zone = here(), stop = data.stops[at.s];
  const tabs = zone.place ? ["reading"] : ["seen", "probe", "reading"];
  const names = { seen: "Seen", probe: "Probe", reading: "Reading" };
  return [
    ...top(`${stop.name}`, () => go({ view: "stop" })),
    el("section", { class: "look" },
      zone.drawn ? el("img", { class: "plate", src: `data:image/svg+xml,${encodeURIComponent(zone.drawn)}`, alt: `Where to stand and what to look at: ${zone.label}` }) : null,
      el("div", { class: "how" }, zone.uncover && el("p", {}, `First move aside: ${zone.uncover}.`), zone.tell && el("p", {}, `${zone.tell[0].toUpperCase()}${zone.tell.slice(1)}.`),
        el("details", {}, el("summary", {}, "How, and with what"), el("p", {}, zone.how), zone.structural && el("p", {}, zone.structural)))),
    el("div", { class: "zn" },
      el("button", { type: "button", class: "step", "aria-label": "The zone before", onclick: () => step(-1) }, iconOf("before")),
      el("div", {}, el("h1", {}, zone.label), el("p", { class: "note" }, `${at.z + 1} of ${stop.zones.length} here${zone.first ? ", usually rusts first" : ""}`))),
    lastHere(zone),
    el("div", { class: "low" },
      tabs.length > 1 && el("nav", { class: "tabs", "aria-label": "What to record" }, ...tabs.map((tab) => el("button", { type: "button", "aria-pressed": String(at.tab === tab), onclick: () => go({ tab }) }, names[tab]))),
      at.tab === "reading" ? padView(zone) : signsView(zone),
      tail(zone)),
  ];
}
function signsView(zone) {
  const list = at.tab === "probe" ? data.probes : zone.signs;
  const keep = (absent) => {
    const sign = at.sign;
    at.sign = "";
    take("finding", { zone: zone.id, sign, ...(absent ? { absent: true } : {}) }, `${absent ? "no " : ""}${words(sign)}`);
  };
  return [
    el("div", { class: `sg ${at.tab}` }, ...list.map((sign) => el("button", { type: "button", "data-key": sign, title: data.meanings[sign], "aria-pressed": String(at.sign === sign), onclick: () => { at.sign = at.sign === sign ? "" : sign; draw(); } }, words(sign)))),
    el("div", { class: "ans" }, el("button", { type: "button", class: "btn go", "data-key": "yes", disabled: !at.sign, onclick: () => keep(false) }, at.sign ? "It is there" : "Tap a sign"), el("button", { type: "button", class: "btn", "data-key": "no", disabled: !at.sign, onclick: () => keep(true) }, "Looked, and no")),
  ];
}
const pad = new Pad(() => draw());
function padView(zone) {
  const show = (id) => of(id).filter((one) => one.reading?.kind === pad.kind).map((one) => one.reading.value).join(", ");
  const twin = zone.twin && show(zone.twin);
  const so = [show(zone.id) && `Here so far: ${show(zone.id)}.`, twin && `The other side: ${twin}.`].filter(Boolean).join(" ");
  return pad.view(zone.readings, data.units, so, (kind, value, unit) => take("reading", { zone: zone.id, reading: kind, value, unit }, `${words(kind)} ${value} ${unit}`));
}
function tail(zone) {
  return el("div", { class: "tail" },
    el("label", { class: "btn plain" }, iconOf("picture"), "Picture", el("input", { type: "file", accept: "image/*", capture: "environment", class: "vh", onchange: (event) => picture(event.target, zone) })),
    hears && el("button", { type: "button", class: "btn plain", onclick: () => speak(zone) }, iconOf("voice"), "Voice"),
    el("button", { type: "button", class: "btn plain", onclick: () => noteFor(zone) }, iconOf("note"), "Note"),
    el("button", { type: "button", class: "btn plain", onclick: () => skip(zone) }, iconOf("skip"), "Skip"),
    el("button", { type: "button", class: "btn plain next", "data-key": "next", onclick: () => step(1) }, iconOf("next"), "Next"));
}
async function picture(input, zone) {
  const file = input.files[0];
  if (!file) return;
  await gather(); // the finding may have been taken down a moment ago
  const last = of(zone.id).filter((one) => one.kind === "finding").at(-1);
  take("picture", { zone: zone.id, ...(last ? { note: last.short } : {}) }, "picture", file);
}
function routeView() {
  return [
    ...top("Back", () => go({ view: "stop" })),
    el("section", { class: "sheet-of" }, el("h1", {}, data.name), el("p", { class: "note" }, data.source)),
    el("div", { class: "low list" }, ...data.stops.map((stop, s) => {
      const done = stop.zones.filter((zone) => of(zone.id).length).length;
      return el("button", { type: "button", class: "row", "aria-current": s === at.s ? "step" : null, onclick: () => go({ view: "stop", s, z: 0 }) }, el("b", {}, `${s + 1} ${stop.name}`), el("span", {}, `${stop.station}, ${done} of ${stop.zones.length}`));
    }), el("button", { type: "button", class: "btn", onclick: () => go({ view: "end" }) }, "End the walk")),
  ];
}
const KEEPS = {
  insecure: "This page was opened over plain http, so the phone cannot keep it: leave it open until there is reception again.",
  none: "This browser cannot keep the page: leave it open until there is reception again.",
  failed: "The page could not be kept on this phone: leave it open until there is reception again.",
};
function listView() {
  const lines = records.toReversed().map((one) => {
    const where = { desk: "at the desk", phone: "only on this phone", refused: "not taken" }[one.where];
    return el("li", {}, el("span", {}, el("b", {}, zoneOf[one.zone]?.label ?? "The vehicle"), ` ${one.short}`, el("span", { class: "note" }, `${clock(one.at)}, ${where}`), one.why && el("span", { class: "caution" }, one.why), one.told && el("span", { class: "caution" }, one.told)),
      el("button", { type: "button", class: "btn", onclick: () => takeBack(one) }, one.where === "refused" ? "Let it go" : "Take back"));
  });
  return [
    ...top("Back to the walk", () => go({ view: at.from ?? "zone" })),
    el("section", { class: "sheet-of" }, el("h1", {}, waiting ? `${waiting} only on this phone` : refused ? `${refused} not taken` : "Everything has been sent"),
      el("p", { class: "note" }, waiting ? `${line.up ? "" : `${REASONS[line.reason][0].toUpperCase()}${REASONS[line.reason].slice(1)}. `}It goes by itself as soon as that can be, in the order in which it was taken.` : `${records.length} kept on this walk.`),
      line.reason === "login" && !data.helper && el("p", {}, el("a", { href: location.href }, "Log in again"), "; nothing is lost."),
      el("p", { class: "caution" }, KEEPS[kept] ?? (kept ? "This page is on the phone: it opens without reception, and after the phone was switched off." : "This page is being put on the phone.")),
      !queue.kept && el("p", { class: "caution" }, "This browser keeps nothing when the page is closed; what is only on this phone would be lost.")),
    el("ul", { class: "records" }, ...lines),
  ];
}
function endView() {
  const missed = all.filter((zone) => !of(zone.id).length);
  return [
    ...top("Back to the walk", () => go({ view: "zone" })),
    el("section", { class: "sheet-of" }, el("h1", {}, "End of the walk"), el("p", {}, `${records.length} kept.`, ceiling && ` ${ceiling}`),
      missed.length ? el("details", {}, el("summary", {}, `${missed.length} without a record`), el("p", {}, missed.map((zone) => zone.label).join("; "))) : el("p", {}, "Everything on it was looked at."),
      waiting ? el("p", { class: "caution" }, `${waiting} only on this phone. They go by themselves; the walk can be ended when they have arrived.`) : null),
    el("div", { class: "low" }, el("button", { type: "button", class: "btn go", disabled: waiting > 0, onclick: end }, data.helper ? "This was all" : "End it and see what changed"), missed.length ? el("button", { type: "button", class: "btn", onclick: () => go({ view: "stop", s: missed[0].s, z: missed[0].z }) }, "Go to the first one missed") : null),
  ];
}
async function end() {
  try {
    const answer = await fetch(`${data.base}/end`, { method: "POST", headers: { "X-Weldworth-Form": token } });
    if (!answer.ok) throw new Error(answer.statusText);
    location.assign(answer.url);
  } catch { say("No reception. The walk stays open; end it when there is."); }
}

/* Questions that take the whole glass */
function dialog(title, ...inside) {
  const found = el("dialog", { "aria-label": title }, el("h2", {}, title), ...inside, el("button", { type: "button", class: "btn", onclick: () => found.close() }, "Cancel"));
  found.addEventListener("close", () => found.remove());
  document.body.append(found);
  found.showModal();
  return found;
}
function noteFor(zone) {
  const text = el("textarea", { rows: 5, "aria-label": "Note", maxlength: 2000 });
  const found = dialog(`Note: ${zone.label}`, text, el("button", { type: "button", class: "btn go", onclick: () => { if (text.value.trim()) take("note", { zone: zone.id, text: text.value.trim() }, text.value.trim()); found.close(); } }, "Keep it"));
  text.focus();
}
async function speak(zone) {
  const memo = new Memo();
  const time = el("output", { class: "num" }, "0:00");
  let keep = false;
  const found = dialog(`Voice memo: ${zone.label}`, el("p", { class: "disp" }, time), el("button", { type: "button", class: "btn go", onclick: () => { keep = true; found.close(); } }, "Stop and keep it"));
  memo.ticked = (seconds) => { time.textContent = `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`; if (seconds >= data.longest) { keep = true; found.close(); } };
  found.addEventListener("close", async () => {
    const { file, seconds } = await memo.stop();
    if (keep && file) take("memo", { zone: zone.id, seconds }, "memo", file);
  });
  try { await memo.start(); } catch { found.close(); alert("The microphone is not free or not allowed. Allow it for this page, or write a note."); }
}
function skip(zone) {
  const found = dialog(`Not looked at: ${zone.label}`, ...data.reasons.map(([reason, said]) => el("button", { type: "button", class: "btn", onclick: () => { take("skip", { zone: zone.id, reason }, said); found.close(); step(1); } }, said[0].toUpperCase() + said.slice(1))));
}

/* A button that is drawn anew under the finger loses the tap: while a finger is down, drawing waits. */
let down = false, late = false;
function lift() {
  down = false;
  if (late) draw();
}
addEventListener("pointerdown", () => { down = true; }, true);
addEventListener("pointercancel", lift, true);
addEventListener("pointerup", () => setTimeout(lift, 300), true); // the click of a touch comes a moment after it
addEventListener("click", () => { down = false; setTimeout(lift); }, true);

const views = { stop: stopView, zone: zoneView, route: routeView, list: listView, end: endView };
function draw() {
  late = down;
  if (late) return;
  const key = document.activeElement?.dataset?.key;
  const open = root.querySelector("details[open]") && root.dataset.at === `${at.view}${at.s}.${at.z}`;
  root.dataset.at = `${at.view}${at.s}.${at.z}`;
  root.className = at.view === "zone" && at.tab === "reading" && !here().place ? "zone reads" : at.view;
  root.replaceChildren(...views[at.view]().flat().filter(Boolean));
  if (open) root.querySelector("details")?.setAttribute("open", "");
  if (key) root.querySelector(`[data-key="${CSS.escape(key)}"]:not([disabled])`)?.focus();
}
addEventListener("keydown", (event) => { if (at.view === "zone" && at.tab === "reading" && !document.querySelector("dialog")) pad.typed(event); });
await gather();
/* What the page already came with needs no copy here. */
for (const item of await queue.items()) if (item.state === "done" && (item.kind === "undo" ? !data.records.some((one) => one.mark === item.body.of) : data.records.some((one) => one.mark === item.id))) await queue.remove(item.id);
draw();
kept = await keepOffline(`${data.base.slice(0, data.base.lastIndexOf("/"))}/`, [location.href]);
if (at.view === "list") draw();
