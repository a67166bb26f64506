// A changed choice is reckoned at once; the message is copied before it is marked as asked.
const form = document.getElementById("choose");
let wanted = 0;

form?.querySelector("button")?.setAttribute("hidden", "");
form?.addEventListener("change", async () => {
  const mine = ++wanted;
  const address = new URL(location.href);
  address.search = new URLSearchParams(new FormData(form)).toString();
  const answer = await fetch(address, { headers: { accept: "text/html" } });
  if (mine !== wanted) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("chosen");
  if (fresh) document.getElementById("chosen").replaceWith(fresh);
  history.replaceState(null, "", address);
});

document.addEventListener("click", async (event) => {
  if (event.target.id !== "copy") return;
  event.preventDefault();
  try { await navigator.clipboard.writeText(document.getElementById("text").value); } catch { document.getElementById("text").select(); }
  event.target.form.submit();
});
