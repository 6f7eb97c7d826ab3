/* Folds that somebody opened stay open when the part of the page around them is replaced. */

let open = [];

document.addEventListener("htmx:beforeSwap", (event) => {
  open = [...event.detail.target.querySelectorAll("details[open][id]")].map((fold) => fold.id);
});
document.addEventListener("htmx:afterSwap", () => {
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
  open = [];
});
