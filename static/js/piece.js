/* The segment's panel answers a tick before the network does. The outbox takes the form; here the number is looked at
   first, and what was ticked shows at once. When the server has it, the panel fetches itself anew (see _piece.html). */

import { say } from "./messages.js";
import { doneWord } from "./stages.js";

function refuse(form, text) {
  form.querySelector(".refusal")?.remove();
  const words = document.createElement("p");
  words.className = "refusal";
  words.id = "tick-refused";
  words.setAttribute("role", "alert");
  words.textContent = text;
  form.append(words);
  const field = form.elements.pixels;
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-describedby", words.id);
  field.focus();
}

/** On window, so that it comes before whoever sends the form. */
function check(event) {
  const form = event.target;
  if (!form.matches?.("form.tick")) return;
  const given = form.elements.pixels.value.trim();
  const open = Number(form.dataset.open);
  if (/^\d+$/.test(given) && Number(given) >= 1 && Number(given) <= open) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  const code = form.elements.segment.value;
  const many = /^\d+$/.test(given) && Number(given) > open;
  const found = many ? `${given} pixels are more than ${code} has left here` : `Found “${given}”`;
  refuse(form, `${found}: give a whole number from 1 to ${open}.`);
}

function showTick({ segment, stage, pixels }) {
  const panel = document.getElementById("piece");
  const form = [...panel.querySelectorAll("form.tick")].find((one) => one.elements.stage.value === stage);
  if (!form || form.elements.segment.value !== segment) return;
  const open = Math.max(0, Number(form.dataset.open) - pixels);
  form.dataset.open = open;
  form.elements.pixels.value = open;
  form.querySelector("[data-open-shown]").textContent = open;
  form.hidden = open === 0;
  const line = panel.querySelector(`[data-stage="${stage}"]`);
  const count = Math.min(Number(line.dataset.pixels), Number(line.dataset.count) + pixels);
  line.dataset.count = count;
  line.querySelector(".count").textContent = `${count} of ${line.dataset.pixels}`;
}

addEventListener("submit", check, { capture: true });
document.addEventListener("buildlog:entry", ({ detail: { entry, state, reason } }) => {
  const { segment, stage, pixels } = entry.data;
  if (entry.kind !== "tick") return;
  if (state === "refused") say(`${segment}: ${reason}`);
  if (state !== "waiting") return;
  showTick(entry.data);
  say(`${segment}: ${pixels} pixels ${doneWord(stage)}.`, "good");
});
