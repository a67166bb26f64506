// Asks the browser to keep a page for when there is no reception.
const whole = () => new Promise((done) => { if (document.readyState === "complete") done(); else addEventListener("load", done, { once: true }); });
/* What this page has loaded from /static/: its fonts. */
const loaded = () => performance.getEntriesByType("resource").map((one) => one.name).filter((name) => new URL(name).pathname.startsWith("/static/"));
/* Once the page is whole. scope: the path whose pages are kept. addresses: the page itself, and others to be kept with it. Gives "kept", or why not: "insecure" (plain http), "none", "failed". */
export async function keepOffline(scope, addresses) {
  if (!isSecureContext) return "insecure";
  if (!("serviceWorker" in navigator)) return "none";
  await whole();
  try {
    await navigator.serviceWorker.register("/sw.js", { scope });
    const { active } = await navigator.serviceWorker.ready;
    const kept = new Promise((done) => navigator.serviceWorker.addEventListener("message", (event) => { if (event.data?.kept) done("kept"); }));
    active.postMessage({ keep: [...addresses, ...loaded()] });
    navigator.storage?.persist?.().catch(() => {});
    return await Promise.race([kept, new Promise((done) => setTimeout(done, 120000, "failed"))]);
  } catch { return "failed"; }
}
