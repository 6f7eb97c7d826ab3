/* <details data-menu>: folds up on Escape or on a press elsewhere, as a menu should. */

const open = () => document.querySelectorAll("details[data-menu][open]");

document.addEventListener("pointerdown", (event) => {
  for (const menu of open()) if (!menu.contains(event.target)) menu.open = false;
});
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  for (const menu of open()) {
    menu.open = false;
    menu.querySelector("summary").focus();
  }
});
