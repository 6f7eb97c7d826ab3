"""What a plan should make the lead look twice at: a code and its figures, put into words when it is shown.

A frozen plan keeps codes and figures, so that its words can be mended without touching what is built.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from buildlog.core.plan.check_rings import say_rings
from buildlog.core.units import show_length

_OFF = "the ring furthest off lies {worst_m} from that ball"
_SENTENCES = {
    "fitted": "Found from the heights of the ring table: diameter {diameter_m} and pitch {pitch_m}; " + _OFF + ".",
    "fitted diameter": "Found from the heights of the ring table: diameter {diameter_m}; " + _OFF + ".",
    "fitted pitch": "Found from the heights of the ring table: pitch {pitch_m}; " + _OFF + ".",
    "misfit": "Diameter and pitch do not fit the ring table: " + _OFF + ". Check both.",
    "snapped": "{whole} of {count} rings hold whole pitches; rings moved by up to {moved_m} for it.",
    "gaps": "{rings}: the pixels need more strap than the ring is round, by up to {short_m} (ring {ring}). "
    "Count them again or use a smaller pitch.",
    "strain": "{rings}: the edges of a {strap_m} strap must shorten and stretch by up to {worst:.1%}, more than "
    "{limit:.1%}. Use a narrower strap there, or a larger opening.",
    "joints": "{off} of {joints} joints are not on a rib ({rings}): longer segments or more ribs would bring them "
    "there.",
    "hand": "Segment {segment}, cut by hand, has {pixels} pixels, outside {least} to {most}.",
    "spares": "{used} of {outputs} outputs are used, {left} are left; {spare} should stay spare ({share:.0%}).",
    "last spare": "{used} of {outputs} outputs are used, {left} is left; {spare} should stay spare ({share:.0%}).",
    "on file": "Planned anew, {segments} segments and {runs} runs would lie otherwise than they are on file: what is "
    "on file holds.",
}


@dataclass(frozen=True, slots=True)
class PlanWarning:
    """Which warning, and its figures as JSON holds them; lengths end in ``_m`` [m], ``rings`` are ring numbers."""

    code: str
    figures: Mapping[str, Any] = field(hash=False)

    def __str__(self) -> str:
        return _SENTENCES[self.code].format(**{name: _shown(name, value) for name, value in self.figures.items()})


def _shown(name: str, value: Any) -> Any:
    if name == "rings":
        return say_rings(value)
    return show_length(value) if name.endswith("_m") else value
