/* Under https only: a reload works without a network, and the screen stays on while a stint runs. */

let lock = null;

function stintRuns() {
  const block = document.querySelector("[data-stint]");
  return Boolean(block && !block.hidden);
}

async function stayOn() {
  const wanted = document.visibilityState === "visible" && stintRuns();
  try {
    if (wanted && (!lock || lock.released)) lock = await navigator.wakeLock.request("screen");
    else if (!wanted && lock) {
      await lock.release();
      lock = null;
    }
  } catch {
    lock = null; // the battery is low, or the browser does not want to: the screen goes off as usual
  }
}

if (isSecureContext && "wakeLock" in navigator) {
  document.addEventListener("visibilitychange", stayOn);
  document.addEventListener("buildlog:held", stayOn);
  stayOn();
}
if (isSecureContext && "serviceWorker" in navigator) {
  navigator.serviceWorker.register("/worker.js", { scope: "/" }).catch(() => {});
}
