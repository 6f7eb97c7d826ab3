"""A revised plan before it is in force: what it changes, and what was ticked on that."""

from __future__ import annotations

from dataclasses import dataclass

from buildlog.core.plan.revise import Fate, Revision, SegmentChange


@dataclass(frozen=True)
class Proposal:
    """A revision with the counts that stand on each segment now."""

    revision: Revision
    counts: dict[str, dict[str, int]]  # code → {populated: 40, …}, what is above 0 only

    @property
    def summary(self) -> list[tuple[str, int]]:
        words = {Fate.STAYS: "stay", Fate.CHANGES: "change", Fate.GOES: "go", Fate.COMES: "are new"}
        return [(word, len(self.revision.of(fate))) for fate, word in words.items()]

    @property
    def changing(self) -> tuple[SegmentChange, ...]:
        """Everything that does not stay."""
        return tuple(change for change in self.revision.changes if change.fate is not Fate.STAYS)

    @property
    def open(self) -> list[tuple[SegmentChange, str]]:
        """Changes that wait for a decision, each with what is ticked, in words."""
        return [(change, self._ticked(change.code)) for change in self.revision.open]

    @property
    def rewired(self) -> list[str]:
        """Wired segments that go to other channels."""
        return [code for code in self.revision.rewired if "wired" in self.counts.get(code, {})]

    @property
    def nothing(self) -> bool:
        """Whether the plan stays as it is, channels included."""
        return not self.changing and not self.revision.rewired

    def _ticked(self, code: str) -> str:
        return ", ".join(f"{number} {word}" for word, number in self.counts[code].items())
