// What was taken down and has not reached the desk: sent in order, each thing once.
const WAITS = [2000, 4000, 8000, 15000];

export class Outbox {
  constructor(base, token, changed, answered) {
    Object.assign(this, { base, token, changed, answered, waiting: [], refused: [], failures: 0, busy: null });
    addEventListener("online", () => this.send());
  }
  add(item) {
    this.waiting.push(item);
    this.changed();
    this.send();
  }
  drop(mark) {
    const at = this.waiting.findIndex((item) => item.mark === mark);
    if (at < 0 || this.busy?.includes(mark)) return false;
    this.waiting.splice(at, 1);
    this.changed();
    return true;
  }
  forget(mark) {
    this.refused = this.refused.filter((item) => item.mark !== mark);
    this.changed();
  }
  async send() {
    if (this.busy || !this.waiting.length) return;
    clearTimeout(this.again);
    const first = this.waiting[0];
    const plain = this.waiting.findIndex((item) => item.file);
    const batch = first.file ? [first] : this.waiting.slice(0, plain < 0 ? 100 : Math.min(plain, 100));
    this.busy = batch.map((item) => item.mark);
    try {
      const told = await (first.file ? this.sendFile(first) : this.sendPlain(batch));
      for (const one of told) this.settle(one);
      this.failures = 0;
    } catch {
      this.failures += 1;
      this.again = setTimeout(() => this.send(), WAITS[Math.min(this.failures, WAITS.length) - 1]);
    } finally {
      this.busy = null;
      this.changed();
    }
    if (!this.failures) this.send();
  }
  settle(one) {
    const item = this.waiting.find(({ mark }) => mark === one.mark);
    this.waiting = this.waiting.filter(({ mark }) => mark !== one.mark);
    if (item && one.state === "refused") this.refused.push({ ...item, why: one.words });
    this.answered(item, one);
  }
  sendPlain(batch) {
    const body = JSON.stringify({ sent_at: new Date().toISOString(), items: batch });
    return this.post("/records", body, batch, { "Content-Type": "application/json" });
  }
  sendFile(item) {
    const form = new FormData();
    for (const [name, value] of Object.entries(item)) if (name !== "file" && name !== "kind" && value !== undefined) form.set(name, value);
    form.set("sent_at", new Date().toISOString());
    form.set("file", item.file, item.name);
    return this.post(`/${item.kind}s`, form, [item]);
  }
  async post(path, body, batch, headers = {}) {
    const answer = await fetch(this.base + path, { method: "POST", body, headers: { ...headers, Accept: "application/json", "X-Weldworth-Form": this.token } });
    if (answer.ok) return (await answer.json()).items;
    if (answer.status >= 500 || answer.status === 429) throw new Error(answer.statusText);
    const problems = (await answer.json().catch(() => null))?.error?.problems ?? [];
    const words = problems.map((one) => one.text).join(" ") || answer.statusText;
    return batch.map(({ mark }) => ({ mark, state: "refused", seq: null, words }));
  }
}
