// Files dropped on the pictures: kept by the browser until they have arrived, sent in pieces, each with its progress.
import { dropped } from "./arrivals.js";
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
let queue = null, list = null;
const rows = new Map();
const part = (name, more = {}) => Object.assign(document.createElement(name), more);

function words(item) {
  if (item.state === "refused") return `Not taken: ${item.problem?.text || "it cannot be used"}`;
  if (item.state === "done") {
    const { pictures = 0, new: fresh = 0, problems = [] } = item.reply ?? {};
    const here = fresh === 0 ? "there already" : pictures === 1 ? "arrived" : `${fresh} pictures arrived`;
    return [here, ...problems].join("; ");
  }
  return item.offset >= item.length && item.length ? "being looked at" : item.offset ? "on its way" : "waiting";
}
function show(item) {
  let row = rows.get(item.id);
  if (!row) {
    row = part("li");
    row.append(part("span", { textContent: item.name }), Object.assign(part("progress", { max: 1, value: 0 })), part("span", { className: "note" }), part("span", { className: "ways" }));
    row.querySelector("progress").setAttribute("aria-label", `Progress of ${item.name}`);
    rows.set(item.id, row);
    list.append(row);
  }
  const bar = row.querySelector("progress");
  bar.value = item.length ? item.offset / item.length : 0;
  bar.hidden = item.state !== "waiting";
  row.querySelector(".note").textContent = words(item);
  const ways = row.querySelector(".ways");
  if (item.state !== "refused") { ways.replaceChildren(); return; }
  if (ways.childElementCount) return;
  const again = part("button", { type: "button", className: "btn plain", textContent: "Try again" });
  const away = part("button", { type: "button", className: "btn plain", textContent: "Leave it" });
  again.setAttribute("aria-label", `Try ${item.name} again`);
  away.setAttribute("aria-label", `Leave ${item.name}`);
  /* a refusal is kept under its id, so another try is another thing */
  again.addEventListener("click", async () => { await queue.add(item.kind, item.body, new File([item.blob], item.name, { type: item.blob.type })); leave(item.id); });
  away.addEventListener("click", () => leave(item.id));
  ways.replaceChildren(again, away);
}
async function leave(id) {
  await queue.remove(id);
  rows.get(id)?.remove();
  rows.delete(id);
}
async function all(files) {
  for (const file of files) {
    try { await queue.add("pictures", {}, file); } catch { tell("room", `${file.name} is larger than this browser can keep; free some room, or send it in parts.`); }
  }
}
async function start() {
  const drop = document.querySelector(".drop[data-queue]");
  list = document.getElementById("arrivals");
  if (!drop || !list) return;
  queue = await Queue.open(drop.dataset.queue, { headers: () => ({ "X-Weldworth-Form": token }) });
  queue.addEventListener("change", async (event) => {
    if (event.detail) { show(event.detail); return; }
    for (const item of await queue.items()) show(item);
  });
  queue.addEventListener("line", (event) => { if (event.detail.up) untell("upload"); else tell("upload", WHY[event.detail.reason] ?? WHY.fault); });
  for (const item of await queue.items()) { if (item.state === "done") await queue.remove(item.id); else show(item); }
  drop.querySelector("input[type=file]").addEventListener("change", (event) => { all([...event.target.files]); event.target.value = ""; });
  for (const name of ["dragenter", "dragover"]) drop.addEventListener(name, (event) => { event.preventDefault(); drop.classList.add("over"); });
  for (const name of ["dragleave", "drop"]) drop.addEventListener(name, () => drop.classList.remove("over"));
  drop.addEventListener("drop", async (event) => { event.preventDefault(); all(await dropped(event.dataTransfer)); });
}

start();
