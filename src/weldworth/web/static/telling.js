// One line at a time about one matter, at the top of the page, read out to those who listen.
const lines = new Map();
export const told = () => document.getElementById("told");
export function tell(matter, text, ways = []) {
  untell(matter);
  const line = document.createElement("p");
  const words = document.createElement("span");
  words.textContent = text;
  line.append(words);
  for (const [name, act] of ways) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "btn";
    button.textContent = name;
    button.addEventListener("click", act);
    line.append(button);
  }
  lines.set(matter, line);
  told()?.append(line);
}
export function untell(matter) {
  lines.get(matter)?.remove();
  lines.delete(matter);
}
