"""`locate`: where a pixel is, from channel and pixel or from segment and pixel."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from buildlog.core import cells
from buildlog.core.errors import Problem, Refused, Unreadable
from buildlog.core.plan.wiring.place import Place
from buildlog.core.units import show_length
from buildlog.core.wording import _
from buildlog.management.asking import Asking, build_called
from buildlog.management.options import OptionParser
from buildlog.models import Plan
from buildlog.queries.places import on_channel, on_segment


class Command(Asking):
    help = "Where a pixel is: --channel 12 --pixel 345, or --segment R12-3 --pixel 7. All counts from 1."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("--build", required=True, metavar="CODE", help="the build's code")
        parser.add_argument("--channel", metavar="C", help="channel, with its pixel counted along the chain")
        parser.add_argument("--segment", metavar="R12-3", help="segment, with its pixel counted from its first")
        parser.add_argument("--pixel", required=True, metavar="K", help="the pixel")
        parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")

    def answer(
        self, *, build: str, channel: str | None, segment: str | None, pixel: str, json: bool, **rest: Any
    ) -> None:
        kept = build_called(build).plans.first()
        if kept is None:
            raise Refused(Problem(_("This build has no plan yet: make one first.")))
        place = _find(kept, channel, segment, _number(pixel, "--pixel"))
        self.stdout.write(_as_json(place) if json else _as_text(place))


def _find(plan: Plan, channel: str | None, segment: str | None, pixel: int) -> Place:
    if (channel is None) == (segment is None):
        raise Refused(Problem(_("Give either --channel or --segment, and the pixel on it.")))
    return on_segment(plan, segment, pixel) if segment else on_channel(plan, _number(channel or "", "--channel"), pixel)


def _number(text: str, option: str) -> int:
    try:
        return cells.whole(text, 1)
    except Unreadable as wrong:
        raise Refused(Problem(wrong.sentence, option)) from wrong


def _as_json(place: Place) -> str:
    return json.dumps(asdict(place), allow_nan=False)


def _as_text(place: Place) -> str:
    return (
        f"pixel {place.pixel} of {place.segment} (pixel {place.ring_pixel} of ring {place.ring}), "
        f"channel {place.channel}, pixel {place.chain}\n"
        f"azimuth {place.azimuth_deg:.1f}° from the seam rib, {place.polar_deg:.1f}° from the top, "
        f"{show_length(place.height_m)} above the lowest point of the ball"
    )
