// What every page does: keep what is typed, send forms that survive a lost connection, show what others changed.
import { told, tell, untell } from "./telling.js";

const token = document.querySelector("meta[name=form-token]")?.content ?? "";
const clock = () => new Date().toTimeString().slice(0, 5);

/* Keep what is typed, in this browser, until it is sent. */
const nameOf = (form) => `typed ${location.pathname} ${form.id}`;
const typed = (form) => [...new FormData(form)].filter(([name, value]) => typeof value === "string" && name !== "form_token" && !form.elements[name]?.matches?.("[type=password]"));
function keep(form) {
  try { localStorage.setItem(nameOf(form), JSON.stringify({ at: clock(), fields: typed(form) })); } catch { /* no room: nothing is lost but the copy */ }
}
function restore(form) {
  let kept;
  try { kept = JSON.parse(localStorage.getItem(nameOf(form))); } catch { return; }
  if (!kept || form.dataset.answered || JSON.stringify(kept.fields) === JSON.stringify(typed(form))) return;
  tell("typed", `What you typed here at ${kept.at} was not sent.`, [
    ["Bring it back", () => { put(form, kept.fields); untell("typed"); }],
    ["Let it go", () => { localStorage.removeItem(nameOf(form)); untell("typed"); }],
  ]);
}
function put(form, fields) {
  const seen = {};
  for (const [name, value] of fields) {
    const list = [...form.querySelectorAll(`[name="${CSS.escape(name)}"]`)];
    const field = list.find((one) => one.type === "radio" && one.value === value) ?? list[(seen[name] = (seen[name] ?? -1) + 1)];
    if (!field) continue;
    if (field.type === "radio" || field.type === "checkbox") field.checked = true;
    else field.value = value;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
}

/* Send a form; where the connection is gone, say so and try again by itself. */
async function send(form, button) {
  const body = new FormData(form, button);
  const target = button?.hasAttribute("formaction") ? button.formAction : form.action;
  for (let wait = 2; ; wait = Math.min(wait * 2, 30)) {
    try {
      const answer = await fetch(target, { method: "POST", body: form.enctype === "multipart/form-data" ? body : new URLSearchParams(body), headers: { "X-Weldworth-Form": token }, redirect: "follow" });
      untell("lost");
      if (answer.ok || answer.redirected) {
        localStorage.removeItem(nameOf(form));
        const until = [];
        dispatchEvent(new CustomEvent("weldworth:sent", { detail: { form, until } }));
        await Promise.allSettled(until);
      }
      if (answer.redirected) { location.assign(answer.url); return; }
      show(await answer.text());
      return;
    } catch {
      tell("lost", `No connection since ${clock()}. What you typed is kept here and goes by itself.`);
      await new Promise((done) => { setTimeout(done, wait * 1000); addEventListener("online", done, { once: true }); });
    }
  }
}
function show(text) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const main = page.querySelector("main");
  if (!main) return;
  document.title = page.title;
  for (const part of page.head.querySelectorAll("link[rel=stylesheet],script[type=module][src]")) {
    const address = part.getAttribute("src") ?? part.getAttribute("href");
    if (document.head.querySelector(`[src="${address}"],[href="${address}"]`)) continue;
    const fresh = document.createElement(part.localName);
    for (const { name, value } of part.attributes) fresh.setAttribute(name, value);
    document.head.append(fresh);
  }
  document.querySelector("main").replaceWith(main);
  begin(main);
  dispatchEvent(new CustomEvent("weldworth:page", { detail: main }));
  (main.querySelector("[aria-invalid=true]") ?? main.querySelector(".told") ?? main).focus();
}
function begin(root) {
  for (const form of root.querySelectorAll("form[data-keep]")) {
    restore(form);
    let waiting;
    form.addEventListener("input", () => { form.dataset.dirty = "yes"; clearTimeout(waiting); waiting = setTimeout(() => keep(form), 300); });
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (form.dataset.sending) return;
      form.dataset.sending = "yes";
      keep(form);
      send(form, event.submitter).finally(() => { delete form.dataset.sending; });
    });
  }
}

/* What others changed comes in by itself; what is being typed is left alone. */
async function refresh() {
  const text = await (await fetch(location.href)).text();
  const page = new DOMParser().parseFromString(text, "text/html");
  let stale = false;
  for (const part of document.querySelectorAll("[data-live]")) {
    const fresh = page.querySelector(`[data-live="${CSS.escape(part.dataset.live)}"]`);
    if (!fresh || fresh.outerHTML === part.outerHTML) continue;
    if (part.querySelector("form[data-dirty]") || part.contains(document.activeElement)) stale = true;
    else part.replaceWith(fresh);
  }
  if (stale) changed();
  awaited();
}
/* What is still being weighed is looked for again until it is there. */
function awaited() {
  if (document.querySelector("[data-live][data-pending]")) setTimeout(() => refresh().catch(() => {}), 1500);
}
const changed = () => tell("changed", "Changed since you opened it.", [["Show it as it is now", () => location.reload()]]);
function listen() {
  const about = document.body.dataset.candidate ?? "";
  if (!("feed" in document.body.dataset)) return;
  let waiting;
  const feed = new EventSource(`/feed?since=${document.body.dataset.feed}`);
  feed.addEventListener("change", (event) => {
    const change = JSON.parse(event.data);
    if (about && change.candidate !== about) return;
    clearTimeout(waiting);
    waiting = setTimeout(() => { if (document.querySelector("[data-live]")) refresh(); else changed(); }, 150);
  });
  feed.addEventListener("open", () => untell("feed"));
  feed.addEventListener("error", () => tell("feed", `No connection since ${clock()}; it tries again by itself. What is shown may have changed.`));
  addEventListener("pagehide", () => feed.close());
}

begin(document);
listen();
awaited();
export { told };
