// The drawing: a zone is chosen by a tap or a key; close ones are offered by name. Without this script the links do the same.
const pan = document.getElementById("chosen");
const near = document.getElementById("near");
const candidate = document.body.dataset.candidate;
const narrow = matchMedia("(max-width:1000px)");
const REACH = 10; // px from a touch within which other zones are offered too; a zone 24 px wide is chosen outright at its middle

function scaleHatching() {
  for (const svg of document.querySelectorAll(".plate svg")) {
    if (!svg.clientWidth) continue;
    const transform = `rotate(45) scale(${(svg.viewBox.baseVal.width / svg.clientWidth).toFixed(2)})`;
    if (svg.querySelector(".hp")?.getAttribute("patternTransform") === transform) continue;
    for (const pattern of svg.querySelectorAll(".hp")) pattern.setAttribute("patternTransform", transform);
  }
}

async function choose(zone) {
  near.hidden = true;
  const at = new URLSearchParams(location.search).get("at");
  const answer = await fetch(`/c/${candidate}/metal/${encodeURIComponent(zone)}${at ? `?at=${at}` : ""}`, { headers: { accept: "text/html" } });
  if (!answer.ok) { location.search = `?zone=${encodeURIComponent(zone)}`; return; }
  pan.innerHTML = await answer.text();
  pan.dataset.zone = zone;
  keepSource();
  for (const row of document.querySelectorAll(".lst tr")) row.classList.toggle("on", row.querySelector("a")?.dataset.zone === zone);
  for (const marks of document.querySelectorAll(".plate .marks")) {
    marks.querySelector(".pick")?.remove();
    const path = marks.ownerSVGElement.querySelector(`.zone[data-zone="${zone}"]`);
    if (!path) continue;
    const pick = document.createElementNS("http://www.w3.org/2000/svg", "path");
    pick.setAttribute("class", "pick");
    pick.setAttribute("d", path.getAttribute("d"));
    marks.append(pick);
  }
  const address = new URL(location.href);
  address.searchParams.set("zone", zone);
  history.replaceState(null, "", address);
  if (narrow.matches) pan.scrollIntoView({ block: "start" });
}

// A person's usual way of seeing is kept on this device.
function keepSource() {
  const select = pan.querySelector("select[name=source]");
  if (!select) return;
  const kept = localStorage.getItem("weldworth-source");
  if (kept && [...select.options].some((option) => option.value === kept)) select.value = kept;
  select.addEventListener("change", () => localStorage.setItem("weldworth-source", select.value));
}

function zonesAt(x, y) {
  const found = new Set();
  for (const [dx, dy] of [[0, 0], [REACH, 0], [-REACH, 0], [0, REACH], [0, -REACH], [7, 7], [-7, 7], [7, -7], [-7, -7]]) {
    const zone = document.elementFromPoint(x + dx, y + dy)?.dataset?.zone;
    if (zone) found.add(zone);
  }
  return [...found];
}

document.addEventListener("click", (event) => {
  const link = event.target.closest(".lst a[data-zone]");
  if (link) { event.preventDefault(); choose(link.dataset.zone); return; }
  if (!event.target.closest(".plate svg")) { if (!event.target.closest("#near")) near.hidden = true; return; }
  const here = event.target.dataset?.zone;
  const zones = event.pointerType === "touch" ? zonesAt(event.clientX, event.clientY) : here ? [here] : zonesAt(event.clientX, event.clientY);
  if (zones.length === 1) { choose(zones[0]); return; }
  if (zones.length < 2) return;
  near.replaceChildren(...zones.map((zone) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = document.querySelector(`.lst a[data-zone="${zone}"]`)?.textContent ?? zone;
    button.addEventListener("click", () => choose(zone));
    return button;
  }));
  near.style.setProperty("left", `${Math.min(event.pageX, innerWidth - 260)}px`);
  near.style.setProperty("top", `${event.pageY + 8}px`);
  near.hidden = false;
  near.querySelector("button").focus();
});

document.querySelector(".lst")?.addEventListener("keydown", (event) => {
  const links = [...document.querySelectorAll(".lst a[data-zone]")];
  const at = links.indexOf(document.activeElement);
  if (at < 0 || !["ArrowDown", "ArrowUp"].includes(event.key)) return;
  event.preventDefault();
  links[Math.max(0, Math.min(links.length - 1, at + (event.key === "ArrowDown" ? 1 : -1)))].focus();
});

addEventListener("keydown", (event) => { if (event.key === "Escape") near.hidden = true; });
addEventListener("resize", scaleHatching);
new MutationObserver(scaleHatching).observe(document.querySelector(".lay"), { childList: true, subtree: true });
scaleHatching();
keepSource();
// On a phone the drawings stand above: whoever comes for one zone, or has just recorded something of it, is taken to it.
const asked = new URLSearchParams(location.search);
if (asked.has("zone") && !asked.has("layer") && narrow.matches) pan.scrollIntoView({ block: "start" });
