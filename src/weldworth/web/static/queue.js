// What was made on this phone waits here until it has arrived: kept over closing and restart, sent in pieces, each thing once.
// docs/phone.md describes the protocol. Used by every page that works without reception.
const STORE = "items";
const LEAST = 32768, MOST = 1048576;
const WAIT_S = 2, LONGEST_S = 60, LIMIT_MS = 90000;
const SETTLED = ["done", "refused"];

/* The box: IndexedDB, or memory where there is none. */
function opened() {
  return new Promise((done, lost) => {
    const asked = indexedDB.open("weldworth-phone", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "id" }).createIndex("to", "to");
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => lost(asked.error);
  });
}
async function box() {
  let base;
  try { base = await opened(); } catch { return memory(); }
  const work = (mode, act) => new Promise((done, lost) => {
    const change = base.transaction(STORE, mode, { durability: "strict" });
    const asked = act(change.objectStore(STORE));
    change.oncomplete = () => done(asked.result);
    change.onerror = change.onabort = () => lost(change.error);
  });
  return {
    kept: true,
    put: (item) => work("readwrite", (store) => store.put(item)),
    get: (id) => work("readonly", (store) => store.get(id)),
    all: (to) => work("readonly", (store) => store.index("to").getAll(to)),
    drop: (id) => work("readwrite", (store) => store.delete(id)),
  };
}
function memory() {
  const items = new Map();
  return {
    kept: false,
    put: async (item) => { items.set(item.id, item); },
    get: async (id) => items.get(id),
    all: async (to) => [...items.values()].filter((item) => item.to === to),
    drop: async (id) => { items.delete(id); },
  };
}

const hex = (bytes) => [...new Uint8Array(bytes)].map((one) => one.toString(16).padStart(2, "0")).join("");
export const newId = () => hex(crypto.getRandomValues(new Uint8Array(16)));
const digest = async (bytes) => (crypto.subtle ? hex(await crypto.subtle.digest("SHA-256", bytes)) : null);

/* Why a thing cannot go now. reason: offline, full, busy, login, gone, fault. all: nothing else can go either. */
class NotNow extends Error {
  constructor(reason, seconds = 0, all = true) { super(reason); Object.assign(this, { reason, seconds, all }); }
}
const problemOf = async (answer) => {
  try { const { error } = await answer.json(); return { kind: error.kind, ...error.problems[0] }; } catch { return { kind: "refused", where: "", text: "" }; }
};

/* to: the address under which things are sent. headers: what each request carries. Events: "change" (detail: item, or null when
   another tab changed something) and "line" (detail: { up, reason, since }). */
export class Queue extends EventTarget {
  static async open(to, { headers = () => ({}), piece = 262144 } = {}) {
    const queue = new Queue();
    Object.assign(queue, { to, headers, piece, box: await box(), line: { up: true, reason: "", since: 0 }, waiting: new Set() });
    queue.others = "BroadcastChannel" in self ? new BroadcastChannel(`weldworth ${to}`) : null;
    if (queue.others) queue.others.onmessage = () => { queue.nudge(); queue.dispatchEvent(new CustomEvent("change", { detail: null })); };
    addEventListener("online", () => queue.nudge());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) queue.nudge(); });
    const run = () => queue.send();
    if (navigator.locks) navigator.locks.request(`weldworth ${to}`, run); else run();
    return queue;
  }

  get kept() { return this.box.kept; }

  /* Keep a thing, with a file where it has one, and send it as soon as that can be. Throws where this phone has no room. */
  async add(kind, body, file = null, id = newId()) {
    const bytes = file ? await file.arrayBuffer() : null;
    const item = {
      id, kind, body, to: this.to, made: Date.now(), state: "waiting", offset: 0, after: 0, name: file?.name ?? "", length: bytes?.byteLength ?? 0,
      sha256: bytes ? await digest(bytes) : null, blob: bytes ? new Blob([bytes], { type: file.type }) : null,
    };
    await this.keep(item);
    this.nudge();
    return item;
  }

  async items() { return (await this.box.all(this.to)).sort((a, b) => a.made - b.made); }
  async pending() { return (await this.items()).filter((item) => !SETTLED.includes(item.state)); }
  async keep(item) { await this.box.put(item); this.changed(item); }
  async remove(id) { await this.box.drop(id); this.changed(null); }
  async again(id) {
    const item = await this.box.get(id);
    if (item) { Object.assign(item, { state: "waiting", after: 0, problem: null }); await this.keep(item); this.nudge(); }
  }

  changed(item) {
    this.dispatchEvent(new CustomEvent("change", { detail: item }));
    this.others?.postMessage("change");
  }
  tell(up, reason = "") {
    if (this.line.up === up && this.line.reason === reason) return;
    this.line = { up, reason, since: Date.now() };
    this.dispatchEvent(new CustomEvent("line", { detail: this.line }));
  }
  nudge() { for (const go of this.waiting) go(); this.waiting.clear(); }
  rest(seconds) {
    return new Promise((done) => { const timer = setTimeout(done, seconds * 1000); this.waiting.add(() => { clearTimeout(timer); done(); }); });
  }

  /* One tab sends; where it is closed the next one takes over. */
  async send() {
    for (let fails = 0; ;) {
      const now = Date.now();
      const pending = await this.pending();
      const item = pending.find((one) => one.after <= now);
      if (!item) { await this.rest(pending.length ? WAIT_S : LONGEST_S); continue; }
      try {
        await this.one(item);
        this.tell(true);
        fails = 0;
      } catch (error) {
        const known = error instanceof NotNow ? error : new NotNow("offline");
        fails = Math.min(fails + 1, 6);
        const seconds = Math.min(known.seconds || WAIT_S * 2 ** (fails - 1), LONGEST_S);
        if (known.all) { this.tell(false, known.reason); await this.rest(seconds); }
        else { item.after = Date.now() + seconds * 1000; await this.box.put(item); }
      }
    }
  }

  async ask(item, method, headers, body) {
    const limit = new AbortController();
    const timer = setTimeout(() => limit.abort(), LIMIT_MS);
    try {
      return await fetch(`${this.to}/${item.id}`, { method, headers: { accept: "application/json", ...this.headers(), ...headers }, body, signal: limit.signal, cache: "no-store" });
    } finally { clearTimeout(timer); }
  }

  async one(item) {
    const { kind, body, length, sha256, name } = item;
    const waited = Math.max(0, (Date.now() - item.made) / 1000);
    let answer = await this.ask(item, "PUT", { "content-type": "application/json" }, JSON.stringify({ kind, body, length, sha256, name, waited }));
    let offset = 0, damaged = 0;
    while (!(await this.settled(item, answer))) {
      if (answer.status === 460 && ++damaged >= 3) return this.settle(item, "refused", { problem: { kind: "damaged", where: "damaged", text: "" } });
      if (answer.status === 404) throw new NotNow("gone", LONGEST_S);
      offset = Number(answer.headers.get("upload-offset") ?? 0);
      Object.assign(item, { offset });
      this.dispatchEvent(new CustomEvent("change", { detail: item }));
      this.tell(true);
      const begun = Date.now();
      answer = await this.ask(item, "PATCH", { "content-type": "application/offset+octet-stream", "upload-offset": String(offset) }, item.blob.slice(offset, offset + this.piece));
      const took = Date.now() - begun;
      this.piece = took < 1000 ? Math.min(this.piece * 2, MOST) : took > 8000 ? Math.max(this.piece / 2, LEAST) : this.piece;
    }
  }

  /* Whether the answer settles the thing; false where the next piece is wanted. */
  async settled(item, answer) {
    const { status } = answer;
    if (status === 200) { await this.settle(item, "done", { reply: (await answer.json()).reply, offset: item.length }); return true; }
    if ([201, 204, 409, 460].includes(status)) return false;
    if (status === 404) throw new NotNow("gone", LONGEST_S);
    if (status === 401 || status === 403) throw new NotNow("login", LONGEST_S);
    if (status === 429) throw new NotNow("busy", Number(answer.headers.get("retry-after")) || 5);
    if (status === 507) throw new NotNow("full", 20);
    if (status >= 500) throw new NotNow("fault", 0, false);
    await this.settle(item, "refused", { problem: await problemOf(answer) });
    return true;
  }
  async settle(item, state, more) {
    await this.keep(Object.assign(item, { state, ...more }, state === "done" ? { blob: null } : {}));
  }
}
