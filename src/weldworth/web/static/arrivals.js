// Files go one by one, each with its progress; one that breaks off is named and sent again.
import { tell, untell } from "./telling.js";

const token = document.querySelector("meta[name=form-token]").content;
const AGAIN = [2, 4, 8, 15, 30];

function post(target, file, progress) {
  return new Promise((done, lost) => {
    const body = new FormData();
    body.append("files", file, file.name);
    const sending = new XMLHttpRequest();
    sending.open("POST", target);
    sending.setRequestHeader("X-Weldworth-Form", token);
    sending.setRequestHeader("Accept", "application/json");
    sending.upload.addEventListener("progress", (event) => { if (event.lengthComputable) progress(event.loaded / event.total); });
    sending.addEventListener("load", () => { try { done({ ok: sending.status < 300, answer: JSON.parse(sending.responseText) }); } catch { lost(); } });
    sending.addEventListener("error", lost);
    sending.send(body);
  });
}

async function arrive(file, drop, list) {
  const line = list.appendChild(document.createElement("li"));
  const name = line.appendChild(document.createElement("span"));
  const bar = line.appendChild(document.createElement("progress"));
  const words = line.appendChild(document.createElement("span"));
  name.textContent = file.name;
  bar.max = 1; bar.value = 0; bar.setAttribute("aria-label", `Progress of ${file.name}`);
  words.className = "note"; words.textContent = "waiting";
  for (let turn = 0; ; turn += 1) {
    try {
      const { ok, answer } = await post(drop.dataset.target, file, (share) => { bar.value = share; words.textContent = share < 1 ? "on its way" : "being looked at"; });
      untell("upload");
      bar.remove();
      words.textContent = ok ? taken(answer, drop) : answer.error.problems.map((one) => one.text).join(" ");
      return;
    } catch {
      words.textContent = "broke off; goes again by itself";
      tell("upload", "No connection. What has not arrived goes again by itself; leave this page open.");
      const wait = AGAIN[Math.min(turn, AGAIN.length - 1)];
      await new Promise((go) => { setTimeout(go, wait * 1000); addEventListener("online", go, { once: true }); });
    }
  }
}

function taken(answer, drop) {
  if (answer.go) { location.assign(answer.go); return "taken in"; }
  const keep = document.getElementById(drop.dataset.into ?? "");
  for (const picture of keep ? answer.pictures : []) {
    const field = document.createElement("input");
    field.type = "hidden"; field.name = "picture"; field.value = `${picture.sha256} ${picture.name}`;
    keep.append(field);
  }
  const odd = answer.problems.map((one) => `${one.where}: ${one.text}`).join(" ");
  const count = answer.pictures.length;
  const here = count === 1 ? "arrived" : count ? `${count} pictures arrived` : "";
  return [here, odd].filter(Boolean).join("; ");
}

function begin(root) {
  for (const drop of root.querySelectorAll(".drop[data-target]")) {
    const list = document.getElementById(drop.dataset.list);
    let line = Promise.resolve();
    const all = (files) => { for (const file of files) line = line.then(() => arrive(file, drop, list)); };
    drop.querySelector("input[type=file]").addEventListener("change", (event) => { all([...event.target.files]); event.target.value = ""; });
    for (const name of ["dragenter", "dragover"]) drop.addEventListener(name, (event) => { event.preventDefault(); drop.classList.add("over"); });
    for (const name of ["dragleave", "drop"]) drop.addEventListener(name, () => drop.classList.remove("over"));
    drop.addEventListener("drop", async (event) => { event.preventDefault(); all(await dropped(event.dataTransfer)); });
  }
}

/* Folders that are dropped are searched. */
export async function dropped(transfer) {
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

begin(document);
addEventListener("weldworth:page", (event) => begin(event.detail));
