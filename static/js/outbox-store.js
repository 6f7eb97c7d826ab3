/* What this browser holds of entries on their way: in IndexedDB, written through to the disk before anything is shown.
   All tabs share it. Nothing waits in memory only. */

const NAME = "outbox";
const KEPT = 12; // stored entries that stay in the list for a look
export const LEASE_MS = 8000; // longer than a request may take

let opened = null;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("entries", { keyPath: "id" });
      asked.result.createObjectStore("meta");
    };
    asked.onsuccess = () => {
      const db = asked.result;
      db.onversionchange = () => db.close();
      db.onclose = () => (opened = null); // some browsers drop the connection of a page that slept
      resolve(db);
    };
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("another page holds the outbox"));
  }).catch((problem) => {
    opened = null;
    throw problem;
  });
  return opened;
}

const answer = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/** One transaction. Strict: it is over only when the disk has it, not when the memory of the system has. */
async function transact(stores, mode, work, durability = "strict") {
  const db = await open();
  const tx = db.transaction(stores, mode, { durability });
  const over = new Promise((resolve, reject) => {
    tx.oncomplete = resolve;
    tx.onabort = tx.onerror = () => reject(tx.error ?? new Error("the outbox could not be written"));
  });
  over.catch(() => {}); // `work` may fail first; the same problem is then thrown below
  const result = await work(tx);
  await over;
  return result;
}

/** By device, and each device's in the order in which it was made (by number: a clock may have been set back). */
const inOrder = (held) =>
  held.sort((one, other) =>
    one.device === other.device ? one.sequence - other.sequence : one.device < other.device ? -1 : 1,
  );

/** Keep one more entry: `make(held)` gives it, from all that is held already; here it gets its number in the device's
    own row. In one transaction, so that a tap waits for one write. Returns all that is held then, and the entry. */
export function add(make, atLeast = 0) {
  return transact(["entries", "meta"], "readwrite", async (tx) => {
    const held = inOrder(await answer(tx.objectStore("entries").getAll()));
    const entry = make(held);
    const key = `sequence ${entry.device}`;
    const last = (await answer(tx.objectStore("meta").get(key))) ?? 0;
    const kept = { ...entry, sequence: Math.max(last, atLeast) + 1, state: "waiting", reason: "" };
    tx.objectStore("meta").put(kept.sequence, key);
    tx.objectStore("entries").add(kept);
    return { held: inOrder([...held, kept]), kept };
  });
}

/** All that is held, in order. */
export async function all() {
  return inOrder(await transact("entries", "readonly", (tx) => answer(tx.objectStore("entries").getAll())));
}

/** Note what became of entries: [{id, state, reason}]. Returns those that changed. */
export function settle(outcomes, now) {
  return transact("entries", "readwrite", async (tx) => {
    const store = tx.objectStore("entries");
    const changed = [];
    for (const { id, state, reason } of outcomes) {
      const entry = await answer(store.get(id));
      if (!entry || entry.state !== "waiting") continue; // another tab was first
      Object.assign(entry, { state, reason, settled: now });
      store.put(entry);
      changed.push(entry);
    }
    await prune(store);
    return changed;
  });
}

async function prune(store) {
  const stored = (await answer(store.getAll())).filter((entry) => entry.state === "stored");
  stored.sort((one, other) => other.settled - one.settled || other.sequence - one.sequence);
  for (const entry of stored.slice(KEPT)) store.delete(entry.id);
}

/** Somebody decided that a refused entry need not be kept. One that still waits is never dropped. */
export function drop(id) {
  return transact("entries", "readwrite", async (tx) => {
    const store = tx.objectStore("entries");
    const entry = await answer(store.get(id));
    if (entry && entry.state !== "waiting") store.delete(id);
  });
}

/** May this tab send now? One tab at a time, for a few seconds; a tab that was killed loses its turn. */
export function takeTurn(tab, now) {
  return transact(
    "meta",
    "readwrite",
    async (tx) => {
      const meta = tx.objectStore("meta");
      const held = await answer(meta.get("turn"));
      // An end much further off than a turn lasts means that the clock was set back: it counts no longer. A little
      // further it is where this tab read the clock first and came to the store second.
      const mine = !held || held.tab === tab || held.until <= now || held.until > now + 2 * LEASE_MS;
      if (mine) meta.put({ tab, until: now + LEASE_MS }, "turn");
      return mine;
    },
    "relaxed",
  );
}

export function giveTurn(tab) {
  return transact(
    "meta",
    "readwrite",
    async (tx) => {
      const meta = tx.objectStore("meta");
      if ((await answer(meta.get("turn")))?.tab === tab) meta.delete("turn");
    },
    "relaxed",
  );
}
