/* The map as a whole: what its modules do when the server has put something new there. Everything also goes without
   script: links open segments and move the window, a text field names segments. */

import { clear, isChoosing, show } from "./map-choose.js";
import { keep } from "./map-keys.js";
import { map, pieceOf, pieces } from "./map-parts.js";
import { follow, isDragging } from "./map-window.js";

const still = matchMedia("(prefers-reduced-motion: reduce)");
let held = null;

function open(panel) {
  panel.focus({ preventScroll: true });
  panel.scrollIntoView({ block: "nearest", behavior: still.matches ? "auto" : "smooth" });
}

/** The piece whose segment the panel shows. */
function markOpen() {
  const code = document.querySelector("#piece .piece-code")?.textContent;
  for (const piece of pieces()) {
    if (piece.dataset.code === code) piece.setAttribute("aria-current", "true");
    else piece.removeAttribute("aria-current");
  }
}

document.addEventListener("htmx:beforeRequest", (event) => {
  const busy = isDragging() || isChoosing();
  if (busy && event.target.id === "board") event.preventDefault(); // never pull the map away from under a finger
});
document.addEventListener("htmx:beforeSwap", () => {
  held = document.activeElement?.closest?.(".piece")?.dataset.code ?? null;
});
document.addEventListener("htmx:afterSwap", (event) => {
  const { target, xhr } = event.detail;
  if (target.id === "give" && xhr.status === 200) clear();
  const asked = !event.detail.requestConfig.elt.matches("[data-refresh]"); // by a person, not by news
  if (target.id === "piece" && asked) open(document.getElementById("piece"));
  if (target.id === "window") follow();
  const last = held && pieceOf(held);
  keep(last ?? pieces()[0]);
  if (last && !(target.id === "piece" && asked)) last.focus({ preventScroll: true });
  show();
  markOpen();
});

if (map) {
  keep(pieces()[0]);
  show();
}
