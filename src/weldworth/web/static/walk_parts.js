// Elements in one line, and the few line drawings that the walk uses.
const SVG = "http://www.w3.org/2000/svg";
const ICONS = {
  before: "M15 4L7 12l8 8",
  next: "M9 4l8 8-8 8",
  picture: "M3 7h5l2-3h4l2 3h5v13H3zM12 17a4 4 0 1 0 0-8 4 4 0 0 0 0 8z",
  voice: "M12 3a3 3 0 0 0-3 3v6a3 3 0 0 0 6 0V6a3 3 0 0 0-3-3zM5 11a7 7 0 0 0 14 0M12 18v3",
  note: "M5 3h14v18H5zM8 8h8M8 12h8M8 16h5",
  skip: "M4 20L20 4M12 21a9 9 0 1 0 0-18 9 9 0 0 0 0 18z",
};
export function el(name, given = {}, ...inside) {
  const found = document.createElement(name);
  for (const [key, value] of Object.entries(given)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) found.addEventListener(key.slice(2), value);
    else found.setAttribute(key, value === true ? "" : value);
  }
  found.append(...inside.flat().filter((one) => one !== null && one !== undefined && one !== false && one !== ""));
  return found;
}
export function iconOf(name) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("viewBox", "0 0 24 24");
  svg.setAttribute("aria-hidden", "true");
  const path = document.createElementNS(SVG, "path");
  path.setAttribute("d", ICONS[name]);
  svg.append(path);
  return svg;
}
/* Whether this browser can record a voice memo. */
export const hears = "MediaRecorder" in self && Boolean(navigator.mediaDevices?.getUserMedia);
