/* Sends what waits: oldest first, one request at a time, by one tab at a time. Whether there is a network is never
   asked, only tried: a browser says it is online when only the server is dead. */

import { outward } from "./outbox-entry.js";
import * as store from "./outbox-store.js";

const BATCH = 25;
const PATIENCE_MS = 4000;
const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 15000;
const QUIET_MS = 45000; // with nothing to send: tell the lead that this device is there

const TAB = "outbox-tab";

/* A page that is loaded again goes on with the turn it had. The name is there only between the two, so that a tab
   opened as a copy of this one does not get it as well. */
function sameTab() {
  try {
    const name = sessionStorage.getItem(TAB);
    sessionStorage.removeItem(TAB);
    return name;
  } catch {
    return null;
  }
}

function rememberTab(name) {
  try {
    sessionStorage.setItem(TAB, name);
  } catch {
    // then the next page waits until this turn is over
  }
}

export class Sender {
  /** `heard(news)` is told {changed, offlineSince, problem} after every try. */
  constructor(page, heard) {
    this.page = page;
    this.heard = heard;
    this.tab = sameTab() ?? Math.random().toString(36).slice(2);
    this.size = BATCH;
    this.failures = 0;
    this.offlineSince = null;
    this.problem = "";
    this.timer = null;
    this.busy = false;
    this.again = false;
  }

  /** Something may be there to send: look now, or after the request that is on its way. */
  kick() {
    if (this.busy) this.again = true;
    else this.#in(0);
  }

  /** The page is looked at again, perhaps out of the browser's memory. */
  resume() {
    sameTab(); // it is this page's own name: nobody else is to find it
    this.kick();
  }

  stop() {
    clearTimeout(this.timer);
    rememberTab(this.tab);
    return store.giveTurn(this.tab).catch(() => {});
  }

  #in(milliseconds) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.#run(), milliseconds);
  }

  async #run() {
    if (this.busy) return;
    this.busy = true;
    this.again = false;
    let next = QUIET_MS;
    try {
      next = await this.#once();
    } catch (problem) {
      console.warn("outbox", problem);
      next = LONGEST_WAIT_MS;
    } finally {
      this.busy = false;
    }
    this.#in(this.again && !this.failures ? 0 : next);
  }

  /** One batch; returns how long to wait before the next look. */
  async #once() {
    if (!(await store.takeTurn(this.tab, Date.now()))) return FIRST_WAIT_MS;
    const waiting = (await store.all()).filter((entry) => entry.state === "waiting");
    const device = waiting[0]?.device ?? this.page.device;
    const mine = waiting.filter((entry) => entry.device === device);
    const batch = mine.slice(0, this.size);
    const reply = await this.#post(batch[0]?.address ?? this.page.address, {
      device,
      sent_at: Date.now(),
      waiting: mine.length,
      oldest_made_at: mine.length ? Math.min(...mine.map((entry) => entry.made_at)) : null,
      entries: batch.map(outward),
    });
    const changed = await store.settle(this.#outcomes(batch, reply), Date.now());
    this.#note(reply);
    this.heard({ changed, offlineSince: this.offlineSince, problem: this.problem });
    if (!reply.ok) return this.#wait();
    return waiting.length > changed.length ? (changed.length ? 0 : FIRST_WAIT_MS) : QUIET_MS;
  }

  async #post(address, body) {
    try {
      const reply = await fetch(address, {
        method: "POST",
        credentials: "same-origin",
        redirect: "error",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify(body),
        signal: AbortSignal.timeout(PATIENCE_MS),
      });
      const json = (reply.headers.get("Content-Type") ?? "").startsWith("application/json");
      const said = json ? await reply.json() : {};
      return { ok: reply.ok && json, status: reply.status, ...said };
    } catch {
      return { ok: false, status: 0 }; // cut off, too slow, or no JSON: it may have arrived; the id settles that
    }
  }

  /** What became of each entry of the batch. One without an answer goes on waiting. */
  #outcomes(batch, reply) {
    if (reply.ok) {
      return (reply.results ?? []).map(({ id, outcome, reason }) => ({
        id,
        state: outcome === "refused" ? "refused" : "stored",
        reason: reason ?? "",
      }));
    }
    const whole = [400, 409, 413, 415].includes(reply.status);
    if (!whole) return [];
    // The server cannot take this batch whatever the network does: find the entry by sending fewer at once.
    if (batch.length > 1 && reply.status !== 409) {
      this.size = Math.ceil(batch.length / 2);
      return [];
    }
    return batch.map(({ id }) => ({ id, state: "refused", reason: reply.problem ?? "The server could not read this." }));
  }

  #note(reply) {
    if (reply.ok) {
      this.failures = 0;
      this.size = BATCH;
      this.offlineSince = null;
      this.problem = "";
      return;
    }
    this.failures += 1;
    const reached = reply.status > 0 && reply.status < 500;
    this.problem = reached ? (reply.problem ?? "") : "";
    this.offlineSince = reached ? null : (this.offlineSince ?? Date.now());
  }

  /** Twice as long after each failure, a little by chance so that twenty tablets do not come back at once. */
  #wait() {
    const longest = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.min(this.failures - 1, 6));
    return longest * (0.75 + Math.random() / 4);
  }
}
