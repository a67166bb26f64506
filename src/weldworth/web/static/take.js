// The line of life is drawn as the places are typed; a claim that is not to be kept leaves the form.
const svg = (name, attributes) => {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
};
const year = (text) => { const found = /\d{4}/.exec(text ?? ""); return found ? Number(found[0]) + (Number(/\d{4}-(\d\d)/.exec(text)?.[1] ?? 1) - 1) / 12 : null; };

function begin(root) {
  const line = root.querySelector(".line-of-life");
  const rows = root.querySelector(".rows");
  if (!line || !rows) return;
  const now = Number(line.dataset.now) + 1;
  const field = (row, key) => row.querySelector(`[name$=".${key}"]`)?.value.trim() ?? "";

  function draw() {
    line.replaceChildren();
    const built = year(root.querySelector("[name=model_year]")?.value);
    const places = [...rows.children].map((row) => ({ place: field(row, "place"), from: year(field(row, "from")), to: year(field(row, "to")) ?? now })).filter((one) => one.from !== null);
    places.sort((a, b) => a.from - b.from);
    const start = Math.min(built ?? now - 50, ...places.map((one) => one.from));
    const width = line.clientWidth || 1000;
    line.setAttribute("viewBox", `0 0 ${width} 56`);
    const at = (when) => 4 + ((when - start) / Math.max(now - start, 1)) * (width - 8);
    line.append(svg("path", { class: "gap", d: `M${at(start)} 28H${at(now)}` }));
    let free = -99;
    for (const one of places) {
      const [a, b] = [at(one.from), at(Math.max(one.to, one.from))];
      line.append(svg("path", { class: "known", d: `M${a} 28H${b}` }), svg("path", { class: "edge", d: `M${a - 4} 34l8 -12M${b - 4} 34l8 -12` }));
      if (one.place && a > free) {
        const words = svg("text", { class: "at", x: Math.min(a + 8, width - 90), y: 16 });
        words.textContent = one.place;
        line.append(words);
        free = a + 8 + one.place.length * 8;
      }
    }
    for (let when = Math.ceil(start / 10) * 10; when < now; when += 10) {
      const words = svg("text", { x: at(when), y: 52, "text-anchor": "middle" });
      words.textContent = when;
      line.append(words);
    }
  }

  const more = root.querySelector("#more-life");
  more.hidden = false;
  more.addEventListener("click", () => {
    const last = rows.lastElementChild;
    const fresh = last.cloneNode(true);
    const number = rows.children.length;
    for (const one of fresh.querySelectorAll("[name],[id],[for]")) {
      for (const key of ["name", "id", "for"]) if (one.hasAttribute(key)) one.setAttribute(key, one.getAttribute(key).replace(/^history\.\d+/, `history.${number}`));
      if (one.matches("input[type=checkbox]")) one.checked = false;
      else if (one.matches("input,select")) one.value = "";
      one.removeAttribute("aria-invalid");
      one.removeAttribute("aria-describedby");
    }
    for (const wrong of fresh.querySelectorAll(".wrong")) wrong.remove();
    fresh.querySelector("legend").textContent = `Place ${number + 1}`;
    const until = last.querySelector("[name$='.to']").value;
    rows.append(fresh);
    fresh.querySelector("[name$='.from']").value = until;
    fresh.querySelector("[name$='.place']").focus();
    draw();
  });
  root.querySelector("#take").addEventListener("input", draw);
  for (const box of root.querySelectorAll("[name=claim-on]")) {
    box.addEventListener("change", () => { for (const kept of box.closest(".claim").querySelectorAll("[name=claim]")) kept.disabled = !box.checked; });
  }
  addEventListener("resize", draw);
  draw();
}

begin(document);
addEventListener("weldworth:page", (event) => begin(event.detail));
