/* A tap or drag on the ball moves the window there. The frame on the ball follows at once, the window when the server
   has answered. */

import { map } from "./map-parts.js";

let asked = 0;
let dragging = false;
let soon = 0;

export const isDragging = () => dragging;

/** Fetch the window that begins at a ring and azimuth; only the last of several quick moves counts. */
export function move(ring, azimuth, after) {
  const mine = ++asked;
  const look = document.getElementById("look");
  const query = new URLSearchParams(look ? new FormData(look) : {});
  for (const [name, value] of Object.entries({ part: "window", ring, az: azimuth })) query.set(name, value);
  const address = `${location.pathname}?${query}`;
  return htmx.ajax("GET", address, { source: "#window", target: "#window", swap: "outerHTML" }).then(() => {
    if (mine === asked) after?.();
  });
}

/** The window as it stands: put the frame on the ball around it, and the place into the address. */
export function follow() {
  const { ring, deep, from, across } = shown();
  frame(ring, deep, from, across);
  const address = new URL(location.href);
  address.searchParams.set("ring", ring);
  address.searchParams.set("az", from);
  history.replaceState(history.state, "", address);
}

function shown() {
  const { first, last, from, to } = document.getElementById("window").dataset;
  return { ring: Number(first), deep: last - first + 1, from: Number(from), across: to - from };
}

/** The drawing's own measures: rows from the top, each as wide as it has pixels. */
function sheet() {
  const ball = map.querySelector(".ball");
  const rows = ball.dataset.rows.split(",").map(Number);
  const [wide, tall, first] = ["wide", "tall", "first"].map((name) => Number(ball.dataset[name]));
  const row = tall / Math.max(rows.length, 10);
  const most = Math.max(...rows);
  const half = (at) => (rows[at] / most) * (wide / 2);
  const x = (at, azimuth) => wide / 2 + (azimuth / 180 - 1) * half(at);
  return { ball, rows, wide, first, row, top: (tall - row * rows.length) / 2, half, x };
}

const within = (value, least, most) => Math.min(Math.max(value, least), Math.max(most, least));

/** Ring and azimuth under a finger. */
function placeAt(event) {
  const { ball, rows, wide, first, row, top, half } = sheet();
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(ball.getScreenCTM().inverse());
  const at = within(Math.floor((point.y - top) / row), 0, rows.length - 1);
  return { ring: at + first, azimuth: within(((point.x - wide / 2) / half(at) + 1) * 180, 0, 360) };
}

function frame(ring, deep, from, across) {
  const { ball, rows, first, row, top, x } = sheet();
  const start = within(ring - first, 0, rows.length - deep);
  const middles = [...Array(deep).keys()].map((step) => start + step).filter((at) => at < rows.length);
  const side = (azimuth) => [
    [x(middles[0], azimuth), top + start * row],
    ...middles.map((at) => [x(at, azimuth), top + (at + 0.5) * row]),
    [x(middles.at(-1), azimuth), top + (middles.at(-1) + 1) * row],
  ];
  const corners = [...side(from), ...side(from + across).reverse()];
  const path = `M${corners.map((corner) => corner.map(Math.round).join(" ")).join("L")}z`;
  for (const line of ball.querySelectorAll(".lens, .lens-shade")) line.setAttribute("d", path);
}

function moveTo(event, wait) {
  const { ring, azimuth } = placeAt(event);
  const { deep, across } = shown();
  const begin = Math.max(1, ring - Math.floor(deep / 2));
  const left = within(azimuth - across / 2, 0, 360 - across);
  frame(begin, deep, left, across);
  clearTimeout(soon);
  soon = setTimeout(() => move(begin, left), wait);
}

map?.addEventListener("pointerdown", (event) => {
  if (!event.target.closest(".ball") || event.button !== 0) return;
  dragging = true;
  if (event.pointerType === "mouse") event.preventDefault();
});
document.addEventListener("pointermove", (event) => dragging && moveTo(event, 120));
document.addEventListener("pointerup", (event) => {
  if (dragging) moveTo(event, 0);
  dragging = false;
});
document.addEventListener("pointercancel", () => (dragging = false));
