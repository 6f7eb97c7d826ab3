/* Today answers a tap before the network does: it lays what this tablet holds over what the server said last.
   Listens to the outbox; without one the page is plain forms. */

import { uuid } from "./outbox-entry.js";
import { doneWord } from "./stages.js";
import { pending, progress, stintOf } from "./today-fold.js";

const UNDO_MS = 60000;
const today = document.querySelector("[data-today]");
const who = document.querySelector("[data-outbox]")?.dataset.who;
let held = [];
let unseen = new Set(); // held when the page came, or since: the server's word does not have them yet
let undoEnds = null;

const one = (name) => today.querySelector(name);
const put = (name, text) => {
  for (const place of today.querySelectorAll(`[data-shows="${name}"]`)) place.textContent = text;
};
const hide = (name, hidden) => {
  for (const place of today.querySelectorAll(name)) place.hidden = hidden;
};
const upper = (word) => word.charAt(0).toUpperCase() + word.slice(1);
const clock = (moment) => new Date(moment).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });

function show() {
  const entries = held.filter((entry) => entry.state !== "refused" && unseen.has(entry.id));
  const { ticks, takenBack } = pending(entries);
  showPiece(ticks, takenBack);
  showStint(entries);
  showHistory(ticks, takenBack);
  showUndo(ticks);
}

function showPiece(ticks, takenBack) {
  const piece = one("[data-piece]")?.dataset;
  if (!piece?.stage) return;
  const back = [...today.querySelectorAll("[data-entry-id]")]
    .filter((line) => takenBack.has(line.dataset.entryId))
    .map(({ dataset }) => ({ ...dataset, pixels: Number(dataset.pixels) }));
  const server = { ...piece, count: Number(piece.count), open: Number(piece.open) };
  const { count, open } = progress(server, ticks, back);
  put("count", count);
  put("open", open);
  const all = one("[data-all] [name=pixels]");
  if (all) all.value = open;
  for (const form of today.querySelectorAll("[data-number]")) form.hidden = Number(form.dataset.number) >= open;
  hide("[data-ticks]", open <= 0);
  hide("[data-piece-done]", open > 0);
  one(".piece-top .share .bar-end")?.remove();
  one(".piece-top .share path:nth-child(2)")?.setAttribute("d", barOf(count / Number(piece.pixels)));
}

const barOf = (share) => `M0 0h${Math.round(100 * share)}v10H0z`;

function showStint(entries) {
  const block = one("[data-stint]");
  if (!block) return;
  const { stint: id, work, since, paused } = block.dataset;
  const known = id ? { id, work, since: Number(since) * 1000, paused: paused !== undefined } : null;
  const stint = stintOf(known, entries, who);
  block.hidden = !stint;
  const counts = stint && stint.work === one("[data-piece]").dataset.stage;
  for (const field of today.querySelectorAll("[data-ticks] [name=stint]")) field.value = counts ? stint.id : "";
  hide(".start, [data-jobs], [data-start-first]", Boolean(stint));
  if (!stint) return;
  block.classList.toggle("paused", stint.paused);
  hide("[data-entry=stint-resume]", !stint.paused);
  hide("[data-entry=stint-pause]", stint.paused);
  hide("[data-shows=resting]", !stint.paused);
  for (const field of block.querySelectorAll("[name=stint]")) field.value = stint.id;
  if (!stint.local) return;
  put("work", upper(stint.work));
  put("since", clock(stint.since));
  put("worked", "");
}

function showHistory(ticks, takenBack) {
  const list = one("[data-history]");
  const blank = one("[data-local-tick]");
  if (!list || !blank) return;
  for (const line of list.querySelectorAll("[data-local]")) line.remove();
  for (const line of list.children) {
    const back = takenBack.has(line.dataset.entryId);
    line.classList.toggle("undone", back || !line.querySelector("form"));
    line.querySelector("form")?.toggleAttribute("hidden", back);
  }
  list.prepend(...ticks.map((entry) => localLine(blank, entry)).reverse());
  if (ticks.length) hide("[data-nothing-yet]", true);
}

function localLine(blank, { id, data }) {
  const line = blank.content.cloneNode(true).firstElementChild;
  line.querySelector("[data-shows=segment]").textContent = data.segment;
  line.querySelector("[data-shows=said]").textContent = `+${data.pixels} ${doneWord(data.stage)}`;
  line.querySelector("[name=undoes]").value = id;
  return line;
}

function showUndo(ticks) {
  const bar = one("[data-undo]");
  const last = ticks.filter((entry) => entry.who === who && Date.now() - entry.made_at < UNDO_MS).at(-1);
  if (!bar || !last) return;
  bar.hidden = false;
  bar.querySelector("[name=undoes]").value = last.id;
  put("last", `${last.data.segment}: ${last.data.pixels} pixels ${doneWord(last.data.stage)}.`);
  endUndo(UNDO_MS - (Date.now() - last.made_at));
}

function endUndo(milliseconds) {
  clearTimeout(undoEnds);
  undoEnds = setTimeout(() => hide("[data-undo]", true), milliseconds);
}

/** Without a network a tap on a next piece cannot fetch it: the page takes it on with what it knows. */
function takeOn(event) {
  const next = event.target.closest("[data-next]");
  const offline = document.querySelector("[data-outbox-word]")?.dataset.state === "offline";
  const piece = one("[data-piece]");
  if (!next || !offline || !one("[data-ticks]") || !piece) return;
  event.preventDefault();
  const { segment, stage, done, pixels, count, open } = next.dataset;
  Object.assign(piece.dataset, { segment, stage, pixels, count, open });
  for (const [name, text] of Object.entries({ name: segment, verb: upper(stage), pixels, "stage-done": done })) put(name, text);
  for (const form of piece.querySelectorAll("form")) {
    if (form.elements.segment) form.elements.segment.value = segment;
    if (form.elements.stage) form.elements.stage.value = stage;
  }
  one(".start button").textContent = `Start to ${stage}`;
  one("[data-own] button").textContent = `Mark ${done}`;
  one("[data-all] button").lastChild.textContent = ` ${done}`;
  hide("[data-where]", true);
  piece.scrollIntoView({ block: "start" });
  show();
}

function heard({ detail }) {
  held = detail.held;
  for (const entry of held) if (entry.state === "waiting") unseen.add(entry.id);
  show();
}

/** What somebody is typing or choosing is not swept away by a fresh page: the next one will do. */
function keepTyped(event) {
  if (event.detail.target !== today) return;
  const typed = [...today.querySelectorAll("textarea, input[type=text]")].some((field) => field.value.trim());
  if (typed || one(".mates :checked")) event.detail.shouldSwap = false;
}

function fresh() {
  unseen = new Set(held.filter((entry) => entry.state === "waiting").map((entry) => entry.id));
  if (one("[data-undo]:not([hidden])")) endUndo(UNDO_MS);
  show();
}

if (today) {
  document.addEventListener("buildlog:held", heard);
  document.addEventListener("buildlog:entry", ({ detail: { entry, state } }) => {
    if (state !== "waiting") return;
    const field = entry.kind === "stint-start" && one(".start [name=stint]");
    if (field) field.value = uuid(); // the next stint is another one
    if (entry.kind === "tick" && one("[data-own]")) one("[data-own]").reset();
    if (entry.kind === "undo") hide("[data-undo]", true);
  });
  document.addEventListener("htmx:beforeSwap", keepTyped);
  document.addEventListener("htmx:afterSwap", fresh);
  today.addEventListener("click", takeOn);
  if (one("[data-undo]:not([hidden])")) endUndo(UNDO_MS);
}
