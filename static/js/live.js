/* A part marked data-live asks the server again and again. When no answer comes, the page says since when it is old;
   the person sees that, and not an error message every few seconds. */

const state = document.querySelector("[data-live-state]");
let since = null;

function clock(moment) {
  return moment.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
}

document.addEventListener("htmx:afterRequest", (event) => {
  if (!event.detail.elt.matches?.("[data-live]") || !state) return;
  const answered = event.detail.xhr.status > 0 && event.detail.xhr.status < 500;
  if (answered) since = null;
  else since ??= new Date();
  state.hidden = answered;
  state.dataset.state = answered ? "sent" : "offline";
  state.textContent = answered ? "" : `no news since ${clock(since)}`;
});
