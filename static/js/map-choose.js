/* Choosing several segments: tap them, tap a ring's name, drag over them, or tap two and take all between. What is chosen stands in the
   form's text field, which is what is sent; the field can be typed into as well. */

import { give, map, middleOf, numberOf, pieces } from "./map-parts.js";

const chosen = new Set();
let choosing = false;
let drag = null;

export const isChoosing = () => Boolean(drag);

export function toggle(code) {
  choosing = true;
  if (!chosen.delete(code)) chosen.add(code);
  write();
}

/** A whole ring, also what of it lies outside the window; tapped again it is left out again. */
function toggleRing(ring) {
  choosing = true;
  const codes = [...map.querySelectorAll(".ball .seg")].map((one) => one.dataset.code);
  const mine = codes.filter((code) => code.startsWith(`R${ring}-`));
  const whole = mine.every((code) => chosen.has(code));
  for (const code of mine) whole ? chosen.delete(code) : chosen.add(code);
  write();
}

export function clear() {
  chosen.clear();
}

/** Mark what is chosen, on whatever the server has put there meanwhile. */
export function show() {
  for (const piece of pieces()) piece.toggleAttribute("data-chosen", chosen.has(piece.dataset.code));
  for (const segment of map.querySelectorAll(".ball .seg")) {
    segment.classList.toggle("chosen", chosen.has(segment.dataset.code));
  }
  map.toggleAttribute("data-choosing", choosing);
  if (give()) showChoice(map.querySelector("[data-choice]"));
}

function showChoice(choice) {
  const button = choice.querySelector("[data-choose]");
  button.hidden = false;
  button.setAttribute("aria-pressed", String(choosing));
  button.textContent = choosing ? "Stop choosing" : "Choose several";
  choice.querySelector("[data-chosen-part]").hidden = chosen.size === 0;
  choice.querySelector("[data-count]").textContent = `${chosen.size} chosen`;
  choice.querySelector("[data-between]").hidden = chosen.size !== 2;
}

function write() {
  give().querySelector("[name=segments]").value = [...chosen].join(" ");
  show();
}

/** Pieces in the rings and in the stretch of the ring that two of them span. */
function between(a, b) {
  const [first, last] = [numberOf(a, "ring"), numberOf(b, "ring")].sort((x, y) => x - y);
  const left = Math.min(numberOf(a, "from"), numberOf(b, "from"));
  const right = Math.max(numberOf(a, "to"), numberOf(b, "to"));
  return pieces().filter((piece) => {
    const ring = numberOf(piece, "ring");
    return ring >= first && ring <= last && middleOf(piece) >= left && middleOf(piece) <= right;
  });
}

document.addEventListener("click", (event) => {
  const ring = event.target.closest("[data-whole-ring]");
  if (ring && give()) {
    toggleRing(ring.dataset.wholeRing);
  } else if (event.target.closest("[data-choose]")) {
    choosing = !choosing;
    show();
  } else if (event.target.closest("[data-clear]")) {
    clear();
    write();
  } else if (event.target.closest("[data-between]")) {
    const range = [...chosen].join(" to "); // the server knows what lies between, also outside the window
    clear();
    write();
    give().querySelector("[name=segments]").value = range;
    give().scrollIntoView({ block: "nearest" }); // on a phone it lies further down
  }
});

/* While choosing, a tap is caught before htmx opens the segment. */
map?.addEventListener(
  "click",
  (event) => {
    const piece = event.target.closest(".piece");
    if (!piece || !give() || !(choosing || event.shiftKey)) return;
    event.preventDefault();
    event.stopPropagation();
    if (!drag?.moved) toggle(piece.dataset.code);
  },
  true,
);

map?.addEventListener("pointerdown", (event) => {
  const piece = event.target.closest(".piece");
  if (!choosing || !piece) return;
  drag = { from: piece, before: new Set(chosen), moved: false };
  if (piece.hasPointerCapture(event.pointerId)) piece.releasePointerCapture(event.pointerId);
});
document.addEventListener("pointermove", (event) => {
  const over = drag && document.elementFromPoint(event.clientX, event.clientY)?.closest(".piece");
  if (!over || (over === drag.from && !drag.moved)) return;
  drag.moved = true;
  clear();
  for (const code of drag.before) chosen.add(code);
  for (const piece of between(drag.from, over)) chosen.add(piece.dataset.code);
  write();
});
document.addEventListener("pointerup", () => setTimeout(() => (drag = null))); // after the click that follows
document.addEventListener("pointercancel", () => (drag = null));
document.addEventListener("dragstart", (event) => {
  if (event.target.closest?.(".piece")) event.preventDefault();
});
