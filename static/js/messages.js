/* Says what happened when an exchange with the server fails. htmx itself is silent then and nothing is retried;
   the form stays as it was typed, because a failed answer is never swapped in (422 aside). */

const SAYS = {
  400: "The server could not read this. Reload the page and try again; copy what you typed first.",
  403: "The person signed in here may not do this, or the page is too old. Reload the page and try again.",
  404: "This is not there any more. Reload the page to see what is.",
  409: "Someone else changed this meanwhile. Reload the page, look, and decide again.",
  413: "This is too large for the server. Send less at once.",
  429: "Too many tries. Wait a minute, then try again.",
};

const GOOD_MS = 8000;

const area = () => document.querySelector("[data-messages]");

/** Show a notice; the same text is not stacked twice. */
export function say(text, kind = "bad") {
  const old = [...area().children].find((notice) => notice.dataset.text === text);
  old?.remove();
  const notice = document.createElement("div");
  notice.className = `notice ${kind}`;
  notice.dataset.text = text;
  const words = document.createElement("p");
  words.className = "say";
  words.textContent = text;
  const close = document.createElement("button");
  close.type = "button";
  close.className = "btn quiet";
  close.textContent = "Close";
  close.addEventListener("click", () => notice.remove());
  notice.append(words, close);
  area().append(notice);
  if (kind === "good") setTimeout(() => notice.remove(), GOOD_MS); // it only confirms what the page shows anyway
}

const quiet = (event) => event.detail.elt?.closest?.("[data-quiet]");

document.addEventListener("htmx:responseError", (event) => {
  if (quiet(event)) return;
  const status = event.detail.xhr.status;
  say(SAYS[status] ?? `The server could not do this (${status}). Nothing was changed; try again in a moment.`);
});
document.addEventListener("htmx:sendError", (event) => {
  if (!quiet(event)) say("The server cannot be reached. Nothing you typed is lost: try again when the network is back.");
});
document.addEventListener("htmx:timeout", (event) => {
  if (!quiet(event)) say("No answer within 8 seconds. It may have arrived or not: look before you press again.");
});
document.addEventListener("notice", (event) => say(event.detail.text ?? event.detail.value, event.detail.kind ?? "good"));
