// A zone is chosen by tapping it on the drawings of the Metal page, shown over the page at hand.
const part = (name, more = {}) => Object.assign(document.createElement(name), more);

/* Opens the drawings; `choose` gets the zone that was tapped. */
export function onDrawing(choose) {
  const candidate = document.body.dataset.candidate;
  const button = part("button", { type: "button", className: "btn plain", textContent: "Choose on the drawing" });
  button.addEventListener("click", () => {
    const dialog = part("dialog", { className: "on-drawing" });
    const head = part("p", { className: "acts" });
    const shown = part("div");
    const close = part("button", { type: "button", className: "btn", textContent: "Close" });
    dialog.setAttribute("aria-label", "Choose a zone on the drawing");
    head.append(part("b", { textContent: "Tap the zone" }), close);
    dialog.append(head, shown);
    document.body.append(dialog);
    const load = async (query) => {
      shown.textContent = "Drawing\u2026";
      try {
        const page = new DOMParser().parseFromString(await (await fetch(`/c/${candidate}/metal${query}`)).text(), "text/html");
        shown.replaceChildren(...page.querySelectorAll(".dwg .tools .choice, .dwg .plate"));
      } catch { shown.textContent = "No connection. Close this and type a part of the zone\u2019s name."; }
    };
    dialog.addEventListener("click", (event) => {
      const layer = event.target.closest(".choice a");
      const zone = event.target.closest("[data-zone]")?.dataset.zone;
      if (layer) { event.preventDefault(); load(layer.getAttribute("href")); }
      else if (zone) { dialog.close(); choose(zone); }
      else if (event.target === close) dialog.close();
    });
    dialog.addEventListener("close", () => { dialog.remove(); button.focus(); });
    dialog.showModal();
    load("");
  });
  return button;
}
