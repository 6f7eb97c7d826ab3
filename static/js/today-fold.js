/* What Today shows while entries are on their way: the server's last word, and on top of it what this tablet holds.
   Pure: no page, no clock. */

/** Entries to lay over the page: ticks whose undo is held as well cancel out.
    Returns {ticks, takenBack}: ticks not undone here, ids of entries on the page that an undo takes back. */
export function pending(entries) {
  const undone = new Set(entries.filter((entry) => entry.kind === "undo").map((entry) => entry.data.undoes));
  const ticks = entries.filter((entry) => entry.kind === "tick" && !undone.has(entry.id));
  const here = new Set(entries.map((entry) => entry.id));
  return { ticks, takenBack: new Set([...undone].filter((id) => !here.has(id))) };
}

/** How far a piece is: `piece` {segment, stage, count, open} as the server said, `back` [{segment, stage, pixels}]
    what is taken back of it. */
export function progress(piece, ticks, back) {
  const same = (one) => one.segment === piece.segment && one.stage === piece.stage;
  const more = ticks.map((entry) => entry.data).filter(same).reduce((sum, one) => sum + one.pixels, 0);
  const less = back.filter(same).reduce((sum, one) => sum + one.pixels, 0);
  const moved = Math.min(piece.open, more - less);
  return { count: Math.max(0, piece.count + moved), open: piece.open - moved };
}

const AFTER = {
  "stint-start": (_, { data, made_at }) => ({
    id: data.stint,
    work: data.stage ?? data.job,
    since: made_at,
    paused: false,
    local: true,
  }),
  "stint-pause": (stint) => stint && { ...stint, paused: true, local: true },
  "stint-resume": (stint) => stint && { ...stint, paused: false, local: true },
  "stint-stop": () => null,
};

/** The stint of `who` once all that is held has arrived. */
export function stintOf(known, entries, who) {
  return entries
    .filter((entry) => entry.who === who && AFTER[entry.kind])
    .reduce((stint, entry) => AFTER[entry.kind](stint, entry), known);
}
