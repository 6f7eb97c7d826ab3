/* Makes entries from forms. An entry is whole from the start: its id, who makes it, when by this device's clock. */

import { doneWord } from "./stages.js";

const NUMBERS = new Set(["pixels", "break_min", "start_fold", "end_fold"]);

// The fields of each kind; what else stands in a form is for the page that works without script.
const FIELDS = {
  tick: ["segment", "stage", "pixels", "stint"],
  undo: ["undoes"],
  "stint-start": ["stint", "stage", "job", "segment", "with"],
  "stint-pause": ["stint"],
  "stint-resume": ["stint"],
  "stint-stop": ["stint"],
  "stint-correct": ["stint", "start", "end", "break_min", "start_fold", "end_fold"],
  note: ["segment", "says"],
};

/** A random UUID (version 4, RFC 9562). crypto.randomUUID does not exist on plain http. */
export function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
}

function value(name, text) {
  if (name === "with") return text.filter(Boolean).map(Number);
  const one = text.at(-1).trim();
  if (one === "") return undefined;
  return NUMBERS.has(name) ? Number(one) : one;
}

/** What a form says for this kind of entry; empty fields are left out. */
export function dataOf(kind, form, submitter) {
  const given = new FormData(form);
  if (submitter?.name) given.append(submitter.name, submitter.value); // the button pressed goes before what is typed
  const data = {};
  for (const name of FIELDS[kind]) {
    const texts = given.getAll(name).map(String);
    const found = texts.length ? value(name, texts) : undefined;
    if (found !== undefined) data[name] = found;
  }
  return data;
}

/** The stint of this person that runs once all that waits here has arrived; `known` is the one that the page knows. */
export function stintAhead(held, who, known) {
  let running = known || null;
  for (const entry of held) {
    if (entry.state !== "waiting" || entry.who !== who) continue;
    if (entry.kind === "stint-start") running = entry.data.stint;
    if (entry.kind === "stint-stop" && entry.data.stint === running) running = null;
  }
  return running;
}

/** A whole entry, not yet numbered. `page` says device, actor's word and name. */
export function makeEntry(kind, data, page, now) {
  return {
    id: uuid(),
    device: page.device,
    address: page.address,
    actor: page.actor,
    who: page.who,
    kind,
    made_at: now,
    data,
  };
}

export const knows = (kind) => Object.hasOwn(FIELDS, kind);

/** What goes over the wire. */
export const outward = ({ id, sequence, actor, kind, made_at, data }) => ({ id, sequence, actor, kind, made_at, data });

/** The entry in a few words for the list. */
export function inWords({ kind, data }) {
  const says = {
    tick: () => `${data.segment}: ${data.pixels} ${doneWord(data.stage)}`,
    undo: () => "Taken back",
    "stint-start": () => `Stint begun: ${data.stage ?? data.job}`,
    "stint-pause": () => "Break",
    "stint-resume": () => "Break over",
    "stint-stop": () => "Stint ended",
    "stint-correct": () => "Stint times put right",
    note: () => `${data.segment}: ${data.says}`,
  };
  return says[kind]?.() ?? kind;
}
