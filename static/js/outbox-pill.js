/* Shows how the outbox stands: one word in the frame of the page, and behind it every entry with its state. */

import { inWords } from "./outbox-entry.js";

const clock = (moment) => new Date(moment).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });

/** {state, text} of the word in the frame. Refused comes first: it needs somebody. */
export function standing(held, { offlineSince, problem }) {
  const waiting = held.filter((entry) => entry.state === "waiting").length;
  const refused = held.filter((entry) => entry.state === "refused").length;
  const also = waiting ? `, ${waiting} waiting` : "";
  if (refused) return { state: "refused", text: `${refused} refused${also}` };
  if (offlineSince) return { state: "offline", text: `Offline since ${clock(offlineSince)}${also}` };
  if (problem) return { state: "offline", text: `Not sent${also}` };
  if (waiting) return { state: "waiting", text: `${waiting} waiting` };
  return { state: "sent", text: "All sent" };
}

const STATES = {
  waiting: (entry) => `On this tablet since ${clock(entry.made_at)}`,
  stored: (entry) => `Stored ${clock(entry.settled)}`,
  refused: (entry) => `Refused. ${entry.reason}`,
};

function line(entry) {
  const item = document.createElement("li");
  item.dataset.state = entry.state;
  const what = document.createElement("strong");
  what.textContent = inWords(entry);
  const state = document.createElement("span");
  state.textContent = `${entry.who}. ${STATES[entry.state](entry)}`;
  item.append(what, state);
  if (entry.state === "refused") item.append(...choices(entry));
  return item;
}

function choices(entry) {
  return [
    ["again", "Enter it again"],
    ["drop", "Drop it"],
  ].map(([act, text]) => {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "btn";
    button.dataset.outboxAct = act;
    button.dataset.entryId = entry.id;
    button.textContent = text;
    return button;
  });
}

const ORDER = { refused: 0, waiting: 1, stored: 2 };

/** Bring word and list up to date. */
export function showOutbox(root, held, news) {
  const { state, text } = standing(held, news);
  const word = root.querySelector("[data-outbox-word]");
  word.dataset.state = state;
  if (word.textContent !== text) word.textContent = text;
  root.querySelector("[data-outbox-problem]").textContent = news.problem;
  const list = root.querySelector("[data-outbox-list]");
  const sorted = [...held].sort((one, other) => ORDER[one.state] - ORDER[other.state] || other.made_at - one.made_at);
  list.replaceChildren(...sorted.map(line));
  root.querySelector("[data-outbox-none]").hidden = held.length > 0;
}
