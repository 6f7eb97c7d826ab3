/* Keys on the window: arrows go from piece to piece and take the window along at its edge, Enter opens (it is a link),
   Space chooses, Escape comes back from the segment's panel. */

import { toggle } from "./map-choose.js";
import { give, map, middleOf, numberOf, pieceOf, pieces } from "./map-parts.js";
import { move } from "./map-window.js";

const WAYS = {
  ArrowUp: "up",
  ArrowDown: "down",
  ArrowLeft: "left",
  ArrowRight: "right",
  PageUp: "up",
  PageDown: "down",
};
let last = null;

/** One piece at a time can be reached by Tab; the arrows go on from there. */
export function keep(piece) {
  for (const other of pieces()) other.tabIndex = other === piece ? 0 : -1;
}

function neighbour(piece, key) {
  const row = (ring) => pieces().filter((other) => numberOf(other, "ring") === ring);
  const mates = row(numberOf(piece, "ring"));
  const at = mates.indexOf(piece);
  if (key === "ArrowLeft") return mates[at - 1];
  if (key === "ArrowRight") return mates[at + 1];
  if (key === "Home") return mates[0];
  if (key === "End") return mates.at(-1);
  if (key.startsWith("Page")) return undefined;
  const near = (other) => Math.abs(middleOf(other) - middleOf(piece));
  return row(numberOf(piece, "ring") + (key === "ArrowUp" ? -1 : 1)).sort((a, b) => near(a) - near(b))[0];
}

function goTo(piece) {
  keep(piece);
  piece?.focus();
}

function onward(piece, key) {
  const link = document.querySelector(`[data-way="${WAYS[key]}"]`);
  if (!link) return;
  const query = new URL(link.href).searchParams;
  move(query.get("ring"), query.get("az"), () => {
    const same = pieceOf(piece.dataset.code);
    goTo((same && neighbour(same, key)) ?? same ?? pieces()[0]);
  });
}

map?.addEventListener("keydown", (event) => {
  const piece = event.target.closest(".piece");
  if (!piece) return;
  if (event.key === " " && give()) {
    event.preventDefault();
    toggle(piece.dataset.code);
  } else if (/^(Arrow|Page|Home$|End$)/.test(event.key)) {
    event.preventDefault();
    const next = neighbour(piece, event.key);
    if (next) goTo(next);
    else onward(piece, event.key);
  }
});
map?.addEventListener("focusin", (event) => {
  last = event.target.closest(".piece")?.dataset.code ?? last;
});
map?.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && event.target.closest("#piece") && last) goTo(pieceOf(last));
});
