/* The outbox of this device. It takes over forms marked data-entry="tick" and the like: the entry is written down here
   first, shown at once, then sent until the server has answered for it. Without it the same forms go to the server.

   Events on document: `buildlog:entry` {entry, state, reason} for one entry, `buildlog:held` {held} with all that is
   held after every change and after every fresh part of the page; `buildlog:sent` on body when something arrived, so
   that parts of the page fetch themselves anew. */

import { dataOf, knows, makeEntry, stintAhead, uuid } from "./outbox-entry.js";
import { showOutbox } from "./outbox-pill.js";
import { Sender } from "./outbox-send.js";
import * as store from "./outbox-store.js";
import { say } from "./messages.js";

const root = document.querySelector("[data-outbox]");
const page = root && { ...root.dataset };
const tabs = root && new BroadcastChannel("outbox");
const sender = root && new Sender(page, heard);
let news = { offlineSince: null, problem: "" };

const tell = (name, detail, target = document) => target.dispatchEvent(new CustomEvent(name, { detail }));

const refresh = async () => showHeld(await store.all());

function showHeld(held) {
  showOutbox(root, held, news);
  tell("buildlog:held", { held });
}

/** After each try to send, in the tab that sends. */
function heard({ changed, ...rest }) {
  news = rest;
  tabs.postMessage({ changed, news });
  show(changed);
}

function show(changed) {
  refresh();
  for (const entry of changed) tell("buildlog:entry", { entry, state: entry.state, reason: entry.reason });
  if (changed.length) tell("buildlog:sent", { changed }, document.body);
}

/** Write one entry down, show it, get it on its way. `maker` says whose it is: the one signed in, as a rule. */
export async function enter(kind, data, maker = page) {
  if (kind === "stint-start") data.stint ??= uuid();
  const make = (held) => {
    if (kind === "tick") data.stint = stintAhead(held, maker.who, data.stint) ?? undefined;
    return makeEntry(kind, data, { ...page, ...maker }, Date.now());
  };
  const { held, kept } = await store.add(make, Number(page.sequence) || 0);
  tell("buildlog:entry", { entry: kept, state: "waiting", reason: "" });
  showHeld(held);
  tabs.postMessage({ added: true });
  sender.kick();
  return kept;
}

async function takeOver(event) {
  const form = event.target.closest?.("form[data-entry]");
  if (!form || !knows(form.dataset.entry) || form.dataset.plain) return;
  event.preventDefault();
  event.stopImmediatePropagation(); // before htmx, which would send it as well
  try {
    await enter(form.dataset.entry, dataOf(form.dataset.entry, form, event.submitter));
    if (form.dataset.entry === "note") form.reset();
    form.closest("details:not([data-outbox])")?.removeAttribute("open");
  } catch (problem) {
    console.warn("outbox", problem);
    say("This tablet cannot write anything down: it is sent to the server directly. Wait for its answer.");
    form.dataset.plain = "1"; // the same form without the outbox
    form.requestSubmit(event.submitter);
  }
}

async function press(event) {
  const button = event.target.closest("[data-outbox-act]");
  if (!button) return;
  const id = button.dataset.entryId;
  const entry = (await store.all()).find((one) => one.id === id);
  if (!entry || entry.state === "waiting") return;
  const maker = entry.who === page.who ? page : { actor: entry.actor, who: entry.who };
  if (button.dataset.outboxAct === "again") await enter(entry.kind, { ...entry.data }, maker);
  await store.drop(id);
  tabs.postMessage({ added: true });
  refresh();
}

function listen() {
  document.addEventListener("submit", takeOver, { capture: true });
  root.addEventListener("click", press);
  document.addEventListener("htmx:afterSettle", refresh);
  tabs.onmessage = ({ data }) => {
    if (data.news) news = data.news;
    show(data.changed ?? []);
    if (data.added) sender.kick();
  };
  for (const sign of ["online", "focus", "pageshow"]) addEventListener(sign, () => sender.resume());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && sender.kick());
  addEventListener("pagehide", () => sender.stop());
}

async function begin() {
  await refresh(); // fails where the browser keeps nothing: then the forms stay plain
  listen();
  root.hidden = false;
  navigator.storage?.persist?.(); // under https only: ask that the queue is not cleared away
  sender.kick();
}

if (root) begin().catch((problem) => console.warn("outbox", problem));
