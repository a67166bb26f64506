// The price slid along the hill: what follows is read off the same curve that the ceiling was found on.
const slider = document.getElementById("p");
const shown = (value, step = 10) => {
  const round = Math.round(value / step) * step;
  return (round < 0 ? "\u2212" : "") + Math.abs(round).toLocaleString("en-US");
};

function at(xs, ys, x) {
  if (x <= xs[0]) return ys[0] + (ys[1] - ys[0]) / (xs[1] - xs[0]) * (x - xs[0]);
  for (let i = 1; i < xs.length; i++) if (x <= xs[i]) return ys[i - 1] + (ys[i] - ys[i - 1]) * (x - xs[i - 1]) / (xs[i] - xs[i - 1]);
  return ys[ys.length - 1];
}

function move() {
  const curve = JSON.parse(slider.dataset.curve);
  const price = Number(slider.value);
  document.getElementById("pp").textContent = shown(price, 1);
  document.getElementById("ep").textContent = shown(at(curve.prices, curve.profit, price));
  document.getElementById("pl").textContent = `${Math.round(100 * Math.max(0, Math.min(1, at(curve.prices, curve.loss, price))))} in 100`;
  const room = curve.ceiling - price;
  document.getElementById("room").textContent = curve.ceiling <= 0 ? "nothing pays" : room >= 0 ? `${shown(room)} under the ceiling` : `${shown(-room)} past the ceiling`;
  document.getElementById("lossr").setAttribute("width", Math.max(0, (price - curve.low) / (curve.high - curve.low) * 1000));
}

if (slider) {
  slider.addEventListener("input", move);
  move();
}
