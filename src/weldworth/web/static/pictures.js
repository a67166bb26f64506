// Arrow keys go from picture to picture; dropped files are put into the form.
addEventListener("keydown", (event) => {
  if (event.target.closest("input,select,textarea")) return;
  const link = document.getElementById(event.key === "ArrowLeft" ? "before" : event.key === "ArrowRight" ? "after" : "");
  if (link) location.href = link.href;
});
const drop = document.querySelector(".drop");
const files = document.getElementById("files");
for (const name of ["dragover", "dragleave", "drop"]) drop?.addEventListener(name, (event) => {
  event.preventDefault();
  drop.classList.toggle("over", name === "dragover");
  if (name === "drop") files.files = event.dataTransfer.files;
});
