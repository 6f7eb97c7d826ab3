/* The map: the window follows a tap or drag on the ball and the arrow keys; several segments are chosen by tapping
   or dragging over them. Everything here also goes without it: links move the window, a text field names segments. */

const map = document.querySelector("[data-map]");
const chosen = new Set();
let choosing = false;
let dragging = null;

const windowPart = () => document.getElementById("window");
const pieces = () => [...document.querySelectorAll(".piece")];
const give = () => document.getElementById("give");
const field = () => give()?.querySelector("[name=segments]");
const still = matchMedia("(prefers-reduced-motion: reduce)");

/* ---- moving the window ---- */

let moving = 0;

/** Fetch the window that begins at a ring and azimuth; only the last of several quick moves counts. */
function move(ring, azimuth, after) {
  const mine = ++moving;
  const look = document.getElementById("look");
  const query = new URLSearchParams(look ? new FormData(look) : {});
  for (const [name, value] of Object.entries({ part: "window", ring, az: azimuth })) query.set(name, value);
  const address = `${location.pathname}?${query}`;
  htmx.ajax("GET", address, { source: "#window", target: "#window", swap: "outerHTML" }).then(() => {
    if (mine === moving) after?.();
  });
}

/** Ring and azimuth under a point of the ball, from the rows that the drawing carries. */
function placeAt(event) {
  const ball = map.querySelector(".ball");
  const rows = ball.dataset.rows.split(",").map(Number);
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(ball.getScreenCTM().inverse());
  const { wide, tall, top, row } = shapeOf(ball, rows.length);
  const at = Math.min(rows.length - 1, Math.max(0, Math.floor((point.y - top) / row)));
  const half = (rows[at] / Math.max(...rows)) * (wide / 2);
  const azimuth = Math.min(360, Math.max(0, ((point.x - wide / 2) / half + 1) * 180));
  return { ring: at + Number(ball.dataset.first), azimuth };
}

function shapeOf(ball, count) {
  const wide = Number(ball.dataset.wide);
  const tall = Number(ball.dataset.tall);
  const row = tall / Math.max(count, 10);
  return { wide, tall, row, top: (tall - row * count) / 2 };
}

/** Put the frame on the ball at once; the window itself comes when the server answers. */
function frame(first, from, across, deep) {
  const ball = map.querySelector(".ball");
  const rows = ball.dataset.rows.split(",").map(Number);
  const { wide, row, top } = shapeOf(ball, rows.length);
  const most = Math.max(...rows);
  const start = Math.min(Math.max(first - Number(ball.dataset.first), 0), Math.max(rows.length - deep, 0));
  const shown = rows.slice(start, start + deep);
  const x = (pixels, azimuth) => wide / 2 + (azimuth / 180 - 1) * (pixels / most) * (wide / 2);
  const side = (azimuth) => shown.map((pixels, at) => [x(pixels, azimuth), top + (start + at + 0.5) * row]);
  const [left, right] = [side(from), side(from + across)];
  const pull = (points, at, by) => [points[at][0], points[at][1] + by * row];
  const corners = [pull(left, 0, -0.5), ...left, pull(left, left.length - 1, 0.5), pull(right, right.length - 1, 0.5), ...right.reverse(), pull(right, right.length - 1, -0.5)];
  const path = `M${corners.map((corner) => corner.map(Math.round).join(" ")).join("L")}z`;
  for (const line of ball.querySelectorAll(".lens, .lens-shade")) line.setAttribute("d", path);
}

function moveTo(event) {
  const { ring, azimuth } = placeAt(event);
  const { first, last, from, to } = windowPart().dataset;
  const deep = last - first + 1;
  const across = to - from;
  const begin = Math.max(1, ring - Math.floor(deep / 2));
  const left = Math.min(360 - across, Math.max(0, azimuth - across / 2));
  frame(begin, left, across, deep);
  clearTimeout(moveTo.soon);
  moveTo.soon = setTimeout(() => move(begin, left), event.type === "pointermove" ? 120 : 0);
}

map?.addEventListener("pointerdown", (event) => {
  if (!event.target.closest(".ball") || event.button !== 0) return;
  dragging = { kind: "ball", moved: false };
  if (event.pointerType === "mouse") event.preventDefault();
});

/* ---- choosing ---- */

const number = (element, name) => Number(element.dataset[name]);

/** Codes of all segments, on the whole ball, in the rings and the stretch that two segments span. */
function between(a, b) {
  const rings = [number(a, "ring"), number(b, "ring")].sort((x, y) => x - y);
  const left = Math.min(number(a, "from"), number(b, "from"));
  const right = Math.max(number(a, "to"), number(b, "to"));
  return pieces().filter((piece) => {
    const middle = (number(piece, "from") + number(piece, "to")) / 2;
    return number(piece, "ring") >= rings[0] && number(piece, "ring") <= rings[1] && middle >= left && middle <= right;
  });
}

function show() {
  for (const piece of pieces()) piece.toggleAttribute("data-chosen", chosen.has(piece.dataset.code));
  for (const segment of map.querySelectorAll(".ball .seg")) segment.classList.toggle("chosen", chosen.has(segment.dataset.code));
  map.toggleAttribute("data-choosing", choosing);
  const part = give();
  if (!part) return;
  const button = part.querySelector("[data-choose]");
  button.hidden = false;
  button.setAttribute("aria-pressed", String(choosing));
  button.textContent = choosing ? "Stop choosing" : "Choose on the map";
  const choice = part.querySelector("[data-choice]");
  choice.hidden = chosen.size === 0;
  choice.querySelector("[data-count]").textContent = `${chosen.size} chosen`;
  choice.querySelector("[data-between]").hidden = chosen.size !== 2;
}

/** Write the choice into the field, which is what is sent. */
function write() {
  if (field()) field().value = [...chosen].join(" ");
  show();
}

function toggle(code) {
  if (!chosen.delete(code)) chosen.add(code);
  write();
}

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-choose]")) {
    choosing = !choosing;
    show();
  } else if (event.target.closest("[data-clear]")) {
    chosen.clear();
    write();
  } else if (event.target.closest("[data-between]")) {
    const [a, b] = [...chosen];
    field().value = `${a}…${b}`;
    chosen.clear();
    show();
  }
});

/* A tap while choosing picks; it is caught before htmx sees it. */
map?.addEventListener(
  "click",
  (event) => {
    const piece = event.target.closest(".piece");
    if (!piece || !give()) return;
    if (!choosing && !event.shiftKey) return;
    event.preventDefault();
    event.stopPropagation();
    if (dragging?.moved) return;
    choosing = true;
    toggle(piece.dataset.code);
  },
  true,
);

map?.addEventListener("pointerdown", (event) => {
  const piece = event.target.closest(".piece");
  if (choosing && piece) dragging = { kind: "pieces", from: piece, before: new Set(chosen), moved: false };
});

document.addEventListener("pointermove", (event) => {
  if (!dragging) return;
  if (dragging.kind === "ball") {
    dragging.moved = true;
    moveTo(event);
    return;
  }
  const over = document.elementFromPoint(event.clientX, event.clientY)?.closest(".piece");
  if (!over || (over === dragging.from && !dragging.moved)) return;
  dragging.moved = true;
  chosen.clear();
  for (const code of dragging.before) chosen.add(code);
  for (const piece of between(dragging.from, over)) chosen.add(piece.dataset.code);
  write();
});

document.addEventListener("pointerup", (event) => {
  if (dragging?.kind === "ball") moveTo(event);
  setTimeout(() => (dragging = null)); // after the click that follows
});
document.addEventListener("pointercancel", () => (dragging = null));
document.addEventListener("dragstart", (event) => {
  if (event.target.closest?.(".piece")) event.preventDefault();
});

/* ---- keys ---- */

const middleOf = (element) => (number(element, "from") + number(element, "to")) / 2;

function neighbour(piece, key) {
  const ring = number(piece, "ring");
  const row = (wanted) => pieces().filter((other) => number(other, "ring") === wanted);
  const mates = row(ring);
  const at = mates.indexOf(piece);
  if (key === "ArrowLeft") return mates[at - 1];
  if (key === "ArrowRight") return mates[at + 1];
  if (key === "Home") return mates[0];
  if (key === "End") return mates[mates.length - 1];
  const others = row(ring + (key === "ArrowUp" ? -1 : 1));
  const near = (other) => Math.abs(middleOf(other) - middleOf(piece));
  return others.sort((a, b) => near(a) - near(b))[0];
}

/** At the edge the window moves on, and the keyboard's place with it. */
function onward(piece, key) {
  const way = { ArrowUp: "up", ArrowDown: "down", ArrowLeft: "left", ArrowRight: "right", PageUp: "up", PageDown: "down" }[key];
  const link = document.querySelector(`[data-way="${way}"]`);
  if (!link) return;
  const query = new URLSearchParams(new URL(link.href).search);
  const code = piece.dataset.code;
  move(query.get("ring"), query.get("az"), () => focusOn(code, key));
}

function focusOn(code, key) {
  const same = document.querySelector(`.piece[data-code="${code}"]`);
  const next = (same && neighbour(same, key)) ?? same ?? pieces()[0];
  keep(next);
  next?.focus();
}

/** One piece at a time can be reached by Tab; the arrows go on from there. */
function keep(piece) {
  for (const other of pieces()) other.tabIndex = other === piece ? 0 : -1;
}

map?.addEventListener("keydown", (event) => {
  const piece = event.target.closest(".piece");
  if (!piece) return;
  if (event.key === " " && give()) {
    event.preventDefault();
    choosing = true;
    toggle(piece.dataset.code);
  } else if (/^(Arrow|Page|Home|End)/.test(event.key)) {
    event.preventDefault();
    const next = event.key.startsWith("Page") ? null : neighbour(piece, event.key);
    if (next) {
      keep(next);
      next.focus();
    } else onward(piece, event.key);
  }
});

/* ---- after the server has answered ---- */

let held = null;
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.target.id === "board" && dragging) event.preventDefault(); // never pull the map away under a finger
});
document.addEventListener("htmx:beforeSwap", () => {
  held = document.activeElement?.closest?.(".piece")?.dataset.code ?? null;
});
document.addEventListener("htmx:afterSwap", (event) => {
  const target = event.detail.target.id;
  if (target === "give" && event.detail.xhr.status === 200) chosen.clear();
  if (target === "piece") {
    const panel = document.getElementById("piece");
    panel.focus({ preventScroll: true });
    panel.scrollIntoView({ block: "nearest", behavior: still.matches ? "auto" : "smooth" });
  }
  if (target === "window") followWindow();
  const last = held && document.querySelector(`.piece[data-code="${held}"]`);
  keep(last ?? pieces()[0]);
  if (last && (target === "board" || target === "window")) last.focus({ preventScroll: true });
  show();
});

function followWindow() {
  const { first, last, from, to } = windowPart().dataset;
  frame(Number(first), Number(from), to - from, last - first + 1);
  const address = new URL(location.href);
  address.searchParams.set("ring", first);
  address.searchParams.set("az", from);
  history.replaceState(history.state, "", address);
}

if (map) {
  keep(pieces()[0]);
  show();
}
