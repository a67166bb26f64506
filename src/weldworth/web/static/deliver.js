// Files dropped on a page: kept by the browser until they have arrived, sent in pieces, each with its progress.
// On Taking in there is no candidate yet: what has arrived waits in the form until that is sent.
import { Queue } from "./queue.js";
import { tell, untell } from "./telling.js";

const token = document.querySelector("meta[name=form-token]")?.content ?? "";
const WHY = {
  offline: "No connection. What has not arrived goes on by itself.",
  full: "The desk’s disk is full. What has not arrived waits here and goes on once there is room.",
  busy: "The desk is busy; it goes on by itself.",
  login: "You are logged out, or may only look. Load the page anew; what has not arrived is kept here.",
  gone: "This candidate is not here any more.",
  fault: "The desk cannot take it just now; it goes on by itself.",
};
const queues = new Map();
/* The page that the files belong to. queue, list, form (on Taking in), rows: item id -> its line. */
let here = null;
const part = (name, more = {}) => Object.assign(document.createElement(name), more);
const count = (number) => (number === 1 ? "1 file" : `${number} files`);

/* Which tab a file was dropped in: another tab may be taking in another vehicle. */
function tray() {
  try { return (sessionStorage.tray ||= crypto.getRandomValues(new Uint32Array(2)).join("-")); } catch { return "only"; }
}
const mine = (item) => !here.form || item.body.tray === tray();
const kept = (item) => (here.form && item.state === "done" ? item.reply?.kept ?? [] : []);
const fieldOf = (sha256) => [...here.form.querySelectorAll("[name=picture]")].find((one) => one.value.startsWith(sha256));

function words(item) {
  if (item.state === "refused") return `Not taken: ${item.problem?.text || "it cannot be used"}`;
  if (item.state === "done") {
    const { new: fresh = 0, pictures = 0, problems = [] } = item.reply ?? {};
    const came = fresh === 0 ? "there already" : pictures === 1 ? "arrived" : `${fresh} pictures arrived`;
    return [came, ...problems].join("; ");
  }
  return item.offset >= item.length && item.length ? "being looked at" : item.offset ? "on its way" : "waiting";
}
function show(item) {
  if (!mine(item)) return;
  if (here.form && item.state === "done" && item.reply?.candidate) { opened(item); return; }
  let row = here.rows.get(item.id);
  if (!row) {
    row = part("li");
    row.append(part("span", { textContent: item.name }), part("progress", { max: 1, value: 0 }), part("span", { className: "note" }), part("span", { className: "does" }));
    row.querySelector("progress").setAttribute("aria-label", `Progress of ${item.name}`);
    here.rows.set(item.id, row);
    here.list.append(row);
  }
  const bar = row.querySelector("progress");
  bar.value = item.length ? item.offset / item.length : 0;
  bar.hidden = item.state !== "waiting";
  row.querySelector(".note").textContent = words(item);
  for (const { sha256, name } of kept(item)) {
    if (!fieldOf(sha256)) here.form.append(part("input", { type: "hidden", name: "picture", value: `${sha256} ${name}` }));
  }
  const ways = row.querySelector(".does");
  if (item.state !== "refused" && !kept(item).length) { ways.replaceChildren(); return; }
  if (ways.childElementCount) return;
  const again = part("button", { type: "button", className: "btn plain", textContent: "Try again" });
  const away = part("button", { type: "button", className: "btn plain", textContent: "Leave it" });
  again.setAttribute("aria-label", `Try ${item.name} again`);
  away.setAttribute("aria-label", `Leave ${item.name}`);
  /* a refusal is kept under its id, so another try is another thing */
  again.addEventListener("click", async () => { await here.queue.add(item.kind, item.body, new File([item.blob], item.name, { type: item.blob.type })); leave(item); });
  away.addEventListener("click", () => leave(item));
  ways.replaceChildren(...(item.state === "refused" ? [again, away] : [away]));
}
async function leave(item) {
  await here.queue.remove(item.id);
  for (const { sha256 } of kept(item)) fieldOf(sha256)?.remove();
  here.rows.get(item.id)?.remove();
  here.rows.delete(item.id);
}
/* A dossier is a candidate as soon as it has come. */
async function opened(item) {
  await here.queue.remove(item.id);
  location.assign(`/c/${item.reply.candidate}/metal`);
}
async function all(files) {
  const { queue, form } = here;
  const body = form ? { tray: tray() } : {};
  for (const file of files) {
    try { await queue.add("pictures", body, file); } catch { tell("room", `${file.name} is larger than this browser can keep; free some room, or send it in parts.`); }
  }
}
/* What came in another tab, or before this one was closed, belongs to no vehicle yet: it is asked about, not taken. */
function offer(items) {
  if (!items.length) return;
  const { queue } = here;
  const settle = (act) => async () => { untell("tray"); for (const item of items) await act(item); };
  tell("tray", `${count(items.length)} sent here earlier belong${items.length === 1 ? "s" : ""} to no vehicle yet.`, [
    ["Take them in here", settle(async (item) => { item.body = { ...item.body, tray: tray() }; await queue.keep(item); show(item); })],
    ["Let them go", settle((item) => queue.remove(item.id))],
  ]);
}
async function begin(root) {
  const drop = root.querySelector(".drop[data-queue]");
  here = null;
  if (!drop) return;
  const to = drop.dataset.queue;
  const known = queues.get(to);
  const queue = known ?? await Queue.open(to, { headers: () => ({ "X-Weldworth-Form": token }) });
  queues.set(to, queue);
  here = { queue, list: document.getElementById("arrivals"), form: drop.dataset.into ? document.getElementById(drop.dataset.into) : null, rows: new Map() };
  if (!known) {
    queue.addEventListener("change", async (event) => {
      if (here?.queue !== queue) return;
      for (const item of event.detail ? [event.detail] : await queue.items()) show(item);
    });
    queue.addEventListener("line", (event) => { if (event.detail.up) untell("upload"); else tell("upload", WHY[event.detail.reason] ?? WHY.fault); });
  }
  const others = [];
  for (const item of await queue.items()) {
    const done = item.state === "done" && (!here.form || item.reply?.candidate || kept(item).every((one) => fieldOf(one.sha256)));
    if (done) await queue.remove(item.id);
    else if (mine(item)) show(item);
    else others.push(item);
  }
  offer(others);
  const input = drop.querySelector("input[type=file]");
  const take = () => { all([...input.files]); input.value = ""; };
  input.addEventListener("change", take);
  if (input.files.length) take(); /* chosen before this script was there */
  for (const name of ["dragenter", "dragover"]) drop.addEventListener(name, (event) => { event.preventDefault(); drop.classList.add("over"); });
  for (const name of ["dragleave", "drop"]) drop.addEventListener(name, () => drop.classList.remove("over"));
  drop.addEventListener("drop", async (event) => { event.preventDefault(); all(await dropped(event.dataTransfer)); });
  drop.dataset.ready = "yes";
}

/* Folders that are dropped are searched. */
async function dropped(transfer) {
  const roots = [...transfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!roots.length) return [...transfer.files];
  const found = [];
  const walk = async (entry) => {
    if (entry.isFile) { found.push(await new Promise((done, lost) => entry.file(done, lost))); return; }
    const reader = entry.createReader();
    for (;;) {
      const some = await new Promise((done, lost) => reader.readEntries(done, lost));
      if (!some.length) return;
      for (const one of some) await walk(one);
    }
  };
  for (const root of roots) await walk(root);
  return found.filter((file) => !file.name.startsWith("."));
}

/* Once the form was taken, what stood in it is on the candidate. */
async function forget(form) {
  if (!here?.form || here.form !== form) return;
  const { queue } = here;
  for (const item of await queue.items()) if (mine(item) && kept(item).length && kept(item).every((one) => fieldOf(one.sha256))) await queue.remove(item.id);
}

begin(document);
addEventListener("weldworth:page", (event) => begin(event.detail));
addEventListener("weldworth:sent", (event) => event.detail.until.push(forget(event.detail.form)));
