"""The ledger: signed entries, each with an id of its own, and the state they add up to.

The state is a sum over the *set* of entries, so neither the order in which they arrive nor how often one of them
arrives can change it. Sums may pass through values outside 0…n while entries are on their way (an undo can arrive
before the tick it undoes); they are limited only when shown.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import Sentence, _
from buildlog.core.work.stages import Stage


class LedgerKind(StrEnum):
    """Why an entry is there."""

    TICK = "tick"
    UNDO = "undo"
    REOPEN = "reopen"


@dataclass(frozen=True, slots=True)
class Entry:
    """Pixels of one segment that passed a stage (positive) or no longer count as passed (negative)."""

    id: UUID
    segment: str
    stage: Stage
    pixels: int
    kind: LedgerKind = LedgerKind.TICK
    undoes: UUID | None = None

    def __post_init__(self) -> None:
        problem = _problem_of(self)
        if problem:
            raise Refused(Problem(problem, "pixels"))


def _problem_of(entry: Entry) -> Sentence | None:
    if entry.pixels == 0:
        return Sentence(_("An entry of 0 pixels says nothing: give the number of pixels."))
    if entry.kind is LedgerKind.TICK and entry.pixels < 0:
        return Sentence(
            _("A tick counts forward, found {pixels} pixels: undo or reopen to take pixels back."), pixels=entry.pixels
        )
    if entry.kind is LedgerKind.REOPEN and entry.pixels > 0:
        return Sentence(_("Reopening takes pixels back, found +{pixels}: give a negative number."), pixels=entry.pixels)
    if entry.kind is LedgerKind.UNDO and entry.undoes is None:
        return Sentence(_("An undo names the entry that it takes back."))
    return None


Sums = Mapping[tuple[str, Stage], int]


def fold(entries: Iterable[Entry]) -> dict[tuple[str, Stage], int]:
    """Sum the entries by segment and stage, each id once.

    Returns {(segment code, stage): pixels}, not limited. Raises Refused when one id stands for two contents.
    """
    seen: dict[UUID, Entry] = {}
    sums: dict[tuple[str, Stage], int] = defaultdict(int)
    for entry in entries:
        first = seen.get(entry.id)
        if first is None:
            seen[entry.id] = entry
            sums[entry.segment, entry.stage] += entry.pixels
        elif first != entry:
            raise Refused(
                Problem(_("The entry {id} stands there already with other content: the first one counts."), id=entry.id)
            )
    return dict(sums)


def shown(total: int, pixels: int) -> int:
    """What a screen says of a sum: limited to 0…pixels.

    >>> shown(-3, 40), shown(25, 40), shown(61, 40)
    (0, 25, 40)
    """
    return max(0, min(total, pixels))


def fingerprint(parts: Iterable[object]) -> str:
    """A short digest of what an entry says, to tell a repeat from another entry under the same id."""
    text = "\x1f".join("" if part is None else str(part) for part in parts)
    return hashlib.sha256(text.encode()).hexdigest()[:32]
