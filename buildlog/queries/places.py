"""Where a pixel is: one look-up by an index, however many there are; a draft is computed."""

from __future__ import annotations

from django.db.models import Max

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.plan import compute
from buildlog.core.plan.wiring import place
from buildlog.core.plan.wiring.place import Place
from buildlog.models import Plan, Run, Segment
from buildlog.models.plan import RunQuerySet


def on_channel(plan: Plan, channel: int, pixel: int) -> Place:
    """Pixel ``pixel`` of channel ``channel``, both from 1. Raises Refused when it is not there."""
    if not plan.frozen:
        return place.on_channel(compute(plan.read()), channel, pixel)
    run = begun_before(plan.build_id, channel, pixel)
    if run is None or pixel >= run.begins + run.pixels:
        raise Refused(_not_on_channel(plan, channel, pixel))
    return _place(plan, run, pixel - run.begins + 1)


def begun_before(build_id: int, channel: int, pixel: int) -> Run | None:
    """The last run of the channel that begins at this pixel or before (one query)."""
    return runs_from(build_id, channel, pixel).first()


def runs_from(build_id: int, channel: int, pixel: int) -> RunQuerySet:
    """The channel's runs from the one with this pixel back to its beginning, found by ``one_run_a_pixel``."""
    runs = Run.objects.filter(build_id=build_id, channel=channel, begins__lte=pixel).order_by("-begins")
    return runs.select_related("segment__lies_on")


def runs_at(build_id: int, code: str, pixel: int) -> RunQuerySet:
    """The run that drives this pixel of the segment, found by ``one_segment_a_code``."""
    runs = Run.objects.filter(
        segment__build=build_id, segment__code=code, segment__retired_at=None, first__lte=pixel, last__gte=pixel
    )
    return runs.select_related("segment__lies_on")


def on_segment(plan: Plan, code: str, pixel: int) -> Place:
    """Pixel ``pixel`` of the segment, from 1 at its lower azimuth. Raises Refused when it is not there."""
    if not plan.frozen:
        return place.on_segment(compute(plan.read()), code, pixel)
    code = code.strip().upper()
    run = runs_at(plan.build_id, code, pixel).first()
    if run is None:
        raise Refused(_not_on_segment(plan, code, pixel))
    return _place(plan, run, 1 + (run.last - pixel if run.reversed else pixel - run.first))


def _place(plan: Plan, run: Run, step: int) -> Place:
    ball, segment = plan.built["ball"], run.segment
    chain = (run.channel, run.begins + step - 1, step)
    size = (ball["diameter_m"], ball["pitch_m"])
    return place.place_of(segment.lies_on.planned, segment.planned, run.planned, chain, size)


def _not_on_channel(plan: Plan, channel: int, pixel: int) -> Problem:
    last = plan.build.runs.aggregate(last=Max("channel"))["last"] or 0
    if not 1 <= channel <= last:
        return place.no_channel(channel, last)
    pixels = sum(run.pixels for run in plan.build.runs.filter(channel=channel))
    return place.not_on_channel(channel, pixels, pixel)


def _not_on_segment(plan: Plan, code: str, pixel: int) -> Problem:
    segments: dict[str, Segment] = {row.code: row for row in plan.build.segments.current()}
    if code not in segments:
        last = list(segments)[-1] if segments else ""
        return place.no_segment(code, last)
    return place.not_on_segment(code, segments[code].pixels, pixel)
