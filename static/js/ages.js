/* What is said to be so old grows older while the page is open. data-age: seconds, when it was sent. */

const EVERY = 15_000;
const came = new WeakMap();

function counted(number, unit) {
  return `${number} ${unit}${number === 1 ? "" : "s"} ago`;
}

function told(seconds) {
  const minutes = Math.floor(seconds / 60);
  if (minutes < 1) return "just now";
  if (minutes < 60) return counted(minutes, "minute");
  if (minutes < 48 * 60) return counted(Math.floor(minutes / 60), "hour");
  return counted(Math.floor(minutes / (24 * 60)), "day");
}

function tell() {
  for (const one of document.querySelectorAll("[data-age]")) {
    if (!came.has(one)) came.set(one, Date.now());
    one.textContent = told(Number(one.dataset.age) + (Date.now() - came.get(one)) / 1000);
  }
}

tell();
document.addEventListener("htmx:afterSwap", tell);
setInterval(tell, EVERY);
