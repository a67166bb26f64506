// The seller's page: one ask at a time. What is made here is kept on the phone first and goes by itself (queue.js).
import { Queue } from "./queue.js";
import { keepOffline } from "./offline.js";

const words = JSON.parse(document.getElementById("words").textContent);
const say = (key, values = {}) => Object.entries(values).reduce((text, [name, value]) => text.replace(`{${name}}`, value), words[key] ?? words.refused);
const { address, dark, piece } = document.body.dataset;
const end = document.getElementById("end");
const asks = () => [...document.querySelectorAll(".ask[data-ask]")];
const sections = () => [...asks(), end];
const made = (name, content, ...classes) => { const one = document.createElement(name); if (content) one.textContent = content; one.className = classes.join(" "); return one; };
const clock = (at) => new Date(at).toTimeString().slice(0, 5);
const looks = new Map();
let items = [];
let how = "";

const queue = await Queue.open(`${address}/up`, { piece: Number(piece) });

/* Where each ask stands: as the other side has it, and over that what is on this phone. */
const newest = (section) => items.filter((item) => item.body.ask === section.dataset.ask && !(item.kind === "keep" && item.state === "waiting")).at(-1);
function stateOf(section) {
  const item = newest(section);
  if (!item || item.state === "done") return section.dataset.state;
  if (item.state === "refused") return "again";
  return item.kind === "cannot" ? "cannot" : "kept";
}
const settled = (section) => ["taken", "cannot", "kept"].includes(stateOf(section));

/* What came back is written into the page, so that it stays when the thing leaves the queue. */
async function takeBack(item) {
  const section = asks().find((one) => one.dataset.ask === item.body.ask);
  if (section) {
    if (item.kind === "picture") {
      section.dataset.state = item.reply.usable || section.dataset.state === "taken" ? "taken" : "again";
      section.dataset.faults = item.reply.faults.join(" ");
    } else section.dataset.state = item.kind === "cannot" && section.dataset.state !== "taken" ? "cannot" : "taken";
  }
  await queue.remove(item.id);
}

/* One at a time */
function show(section, focus = true) {
  for (const one of sections()) one.hidden = one !== section;
  const at = asks().indexOf(section);
  document.getElementById("count").textContent = at < 0 ? "" : say("count", { n: at + 1, all: asks().length });
  if (focus) { section.querySelector("h1").focus({ preventScroll: true }); scrollTo(0, 0); }
  document.getElementById("early").hidden = section === end;
  history.replaceState(null, "", at < 0 ? "#end" : `#${at + 1}`);
  draw();
}
const shown = () => sections().find((one) => !one.hidden) ?? end;
function on() {
  const all = asks(), at = all.indexOf(shown());
  const open = (one) => !settled(one);
  show(all.slice(at + 1).find(open) ?? all.slice(0, Math.max(at, 0)).find(open) ?? end);
}
function back() { const all = sections(), at = all.indexOf(shown()); show(all[Math.max(at - 1, 0)]); }

/* What is said about an ask */
function verdict(section) {
  const box = section.querySelector(".ver");
  const item = newest(section), state = stateOf(section);
  const lines = [], ways = [];
  const next = ["next", on, true], again = ["again", () => retake(section), true];
  if (item?.state === "refused") {
    lines.push(say(item.problem.where in words ? item.problem.where : item.problem.kind));
    ways.push(item.kind === "picture" ? again : ["try_again", () => queue.again(item.id), true], ["let_go", () => queue.remove(item.id)]);
  } else if (item && item.state === "waiting") {
    const bad = looks.get(item.id);
    if (bad) lines.push(say(`${bad}:0`), say(`${bad}:1`));
    else lines.push(say(item.kind === "cannot" ? "noted" : "kept"));
    if (item.offset && item.length) lines.push(say("sending", { share: Math.floor((100 * item.offset) / item.length) }));
    else if (!queue.line.up) lines.push(say(queue.line.reason === "offline" ? "waiting" : queue.line.reason, { at: clock(queue.line.since) }));
    if (bad) ways.push(again, ["leave", on]); else ways.push(next);
    if (item.kind === "picture" && !bad) ways.push(["another", () => retake(section)]);
  } else if (state === "again" || (state === "taken" && section.dataset.faults)) {
    for (const fault of section.dataset.faults.split(" ").filter((one) => `${one}:0` in words).slice(0, 2)) lines.push(`${say(`${fault}:0`)} ${say(`${fault}:1`)}`);
    if (!lines.length) lines.push(say(state === "taken" ? "came" : "refused"));
    ways.push(again, state === "again" ? ["leave", () => leave(section)] : ["next", on]);
  } else if (state === "taken") {
    lines.push(say(section.dataset.kind === "picture" ? "good" : "came"));
    ways.push(next);
    if (section.dataset.kind === "picture") ways.push(["another", () => retake(section)]);
  } else if (state === "cannot") {
    lines.push(say("noted"));
    ways.push(next);
  }
  const key = JSON.stringify([lines, ways.map(([name]) => name)]);
  if (box.dataset.key === key) return;
  box.dataset.key = key;
  box.hidden = !lines.length;
  section.classList.toggle("told", lines.length > 0);
  const body = made("div"), text = made("div"), row = made("div", "", "ac");
  if (item?.blob && item.kind === "picture") { const small = new Image(); small.alt = ""; small.src = URL.createObjectURL(item.blob); small.onload = () => URL.revokeObjectURL(small.src); small.onerror = () => small.remove(); body.append(small); }
  lines.forEach((line, n) => text.append(made(n ? "p" : "h2", line)));
  body.append(text);
  for (const [name, act, first] of ways) { const button = made("button", say(name), first ? "go" : ""); button.type = "button"; button.addEventListener("click", act); row.append(button); }
  box.replaceChildren(body, row);
}
function retake(section) {
  const item = newest(section);
  if (item?.state === "refused" || (item?.state === "waiting" && looks.has(item.id) && !item.offset)) queue.remove(item.id);
  section.querySelector("[capture]").click();
}
async function leave(section) { await queue.add("keep", { ask: section.dataset.ask }); section.dataset.state = "taken"; on(); }

function draw() {
  const all = asks(), now = shown();
  all.forEach(verdict);
  const bars = document.getElementById("bars");
  bars.replaceChildren(...all.map((one) => made("i", "", one === now ? "n" : settled(one) ? "d" : "")));
  const list = document.getElementById("list");
  list.replaceChildren(...all.map((one, n) => {
    const line = made("li"), link = made("a");
    link.href = `#${n + 1}`;
    link.append(made("b", one.querySelector("h1").textContent), made("span", say(`state_${stateOf(one)}`)));
    link.addEventListener("click", (event) => { event.preventDefault(); show(one); });
    line.append(link);
    return line;
  }));
  const pending = items.filter((item) => item.state === "waiting");
  const local = document.getElementById("local");
  const { up, reason, since } = queue.line;
  const lines = pending.length ? [say("local_some", { n: pending.length })] : [say("local_none")];
  if (!up) lines.push(say(reason, { at: clock(since) }));
  else if (!navigator.onLine) lines.push(say("offline", { at: clock(Date.now()) }));
  if (pending.length && reason !== "gone") lines.push(say(queue.kept ? "local_stay" : "local_lost"));
  if (how && how !== "kept") lines.push(say(how === "insecure" ? "insecure" : "not_kept"));
  if (local.dataset.key !== lines.join()) { local.dataset.key = lines.join(); local.replaceChildren(...lines.map((line, n) => made(n ? "p" : "h2", line))); }
}

/* A first look at the light, at once and without reception; the other side looks again, closely. */
async function tooDark(file) {
  try {
    const small = await createImageBitmap(file, { resizeWidth: 64, resizeHeight: 48 });
    const canvas = document.createElement("canvas").getContext("2d");
    canvas.drawImage(small, 0, 0);
    const { data } = canvas.getImageData(0, 0, 64, 48);
    let light = 0;
    for (let at = 0; at < data.length; at += 4) light += 0.299 * data[at] + 0.587 * data[at + 1] + 0.114 * data[at + 2];
    return light / (data.length / 4) < Number(dark);
  } catch { return false; }
}
/* Said where it is seen, wherever on the page somebody is. */
function announce(key) {
  const news = document.getElementById("news");
  news.textContent = say(key);
  news.scrollIntoView({ block: "center" });
}
async function put(section, kind, body, file = null) {
  try {
    const item = await queue.add(kind, { ask: section.dataset.ask, ...body }, file);
    for (const old of items) if (old.state === "refused" && old.kind === kind && old.body.ask === item.body.ask) await queue.remove(old.id);
    if (file && (await tooDark(file))) { looks.set(item.id, "dark"); draw(); }
    return true;
  } catch {
    announce("no_room");
    return false;
  }
}
function begin(section) {
  for (const form of section.querySelectorAll("form")) form.addEventListener("submit", (event) => event.preventDefault());
  for (const input of section.querySelectorAll("input[type=file]")) {
    const take = async () => {
      const files = [...input.files];
      let all = true;
      for (const file of files) all = (await put(section, "picture", {}, file)) && all;
      input.value = "";
      if (all) section.querySelector(".ver").scrollIntoView({ block: "nearest" });
    };
    input.addEventListener("change", take);
    if (input.files.length) take(); /* chosen before this script was there */
  }
  for (const button of section.querySelectorAll("[data-answer]")) {
    button.addEventListener("click", async () => {
      for (const one of section.querySelectorAll("[data-answer]")) one.setAttribute("aria-pressed", one === button);
      if (await put(section, "answer", { answer: button.dataset.answer })) on();
    });
  }
  for (const button of section.querySelectorAll("[data-why]")) {
    button.addEventListener("click", async () => {
      if (await put(section, "cannot", { why: button.dataset.why })) { section.querySelector(".can").open = false; on(); }
    });
  }
  section.querySelector(".own form")?.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (await put(section, "answer", { words: event.target.words.value })) on();
  });
  for (const one of section.querySelectorAll(".number")) one.addEventListener("submit", async (event) => {
    const form = event.target, value = Number(form.value.value.replace(",", ".")), wrong = form.querySelector(".wrong");
    wrong.hidden = Number.isFinite(value);
    wrong.textContent = say("number");
    if (Number.isFinite(value) && (await put(section, "reading", { value, unit: form.unit.value, measured: form.measured.value }))) on();
  });
  for (const button of section.querySelectorAll("[data-go]")) button.addEventListener("click", (event) => { event.preventDefault(); (button.dataset.go === "on" ? on : back)(); });
}

/* One more ask may come while the page is open: looked for ever more slowly, at once when the page is looked at again. */
async function lookForMore(wait = 15) {
  await new Promise((done) => { setTimeout(done, wait * 1000); document.addEventListener("visibilitychange", done, { once: true }); });
  if (document.hidden) return lookForMore(wait);
  try {
    const { asks: keys } = await (await fetch(`${address}/now`, { cache: "no-store", headers: { accept: "application/json" } })).json();
    if (keys.some((key) => !asks().some((one) => one.dataset.ask === key))) { await more(); wait = 15; }
  } catch { /* no signal: the next look tells */ }
  return lookForMore(Math.min(wait * 1.4, 120));
}
async function more() {
  const page = new DOMParser().parseFromString(await (await fetch(location.pathname + location.search, { cache: "no-store" })).text(), "text/html");
  let came = false;
  for (const fresh of page.querySelectorAll(".ask[data-ask]")) {
    if (asks().some((one) => one.dataset.ask === fresh.dataset.ask)) continue;
    fresh.hidden = true;
    end.before(fresh);
    begin(fresh);
    came = true;
  }
  if (!came) return;
  document.getElementById("news").textContent = say("more");
  keep();
  show(end.hidden ? shown() : asks().at(-1), false);
}

async function refresh() {
  items = await queue.items();
  for (const item of items.filter((one) => one.state === "done")) await takeBack(item);
  items = items.filter((item) => item.state !== "done");
  draw();
}
async function keep() {
  const tongues = [...document.querySelectorAll(".tongues a")].map((one) => one.getAttribute("href"));
  how = await keepOffline("/s/", [location.pathname, location.pathname + location.search, ...tongues]);
  document.documentElement.dataset.kept = how;
  draw();
}

asks().forEach(begin);
document.getElementById("early").addEventListener("click", (event) => { event.preventDefault(); show(end); });
document.getElementById("finish").addEventListener("click", async (event) => { event.preventDefault(); await queue.add("finish", {}); announce("finished"); });
queue.addEventListener("change", (event) => { const item = event.detail; if (item?.state === "waiting" && item.offset) { Object.assign(items.find((one) => one.id === item.id) ?? {}, { offset: item.offset }); draw(); } else refresh(); });
queue.addEventListener("line", () => { if (queue.line.reason === "gone") announce("gone"); draw(); });
addEventListener("online", draw);
addEventListener("offline", draw);
await refresh();
const wanted = Number(location.hash.slice(1));
show(location.hash === "#end" ? end : asks()[wanted - 1] ?? asks().find((one) => !settled(one)) ?? end, false);
document.documentElement.dataset.ready = "yes";
keep();
lookForMore();
