"""A plan from before rings were kept: computed once, and where that disagrees with what is on file, the rows hold."""

from __future__ import annotations

from dataclasses import replace

import pytest

from buildlog.core.plan.built import built_of
from buildlog.core.plan.on_file import on_file
from buildlog.core.plan.parts import PlannedChannel, PlannedRun, PlannedSegment
from buildlog.core.plan.plan import BallPlan, compute
from tests.core.plan.conftest import BALL


@pytest.fixture(scope="module")
def plan() -> BallPlan:
    return compute(BALL)


def warned(built) -> dict[str, object]:
    return next((dict(warning.figures) for warning in built.warnings if warning.code == "on file"), {})


def longer_by_one(plan: BallPlan, code: str) -> tuple[tuple[PlannedSegment, ...], tuple[PlannedChannel, ...]]:
    """The plan's parts with one more pixel at the end of a ring's last segment, and of its last run."""
    segments = tuple(replace(part, pixels=part.pixels + (part.code == code)) for part in plan.segments)
    last = plan.by_code[code].pixels

    def run_of(run: PlannedRun) -> PlannedRun:
        return replace(run, last=last + 1) if (run.segment, run.last) == (code, last) else run

    return segments, tuple(replace(part, runs=tuple(map(run_of, part.runs))) for part in plan.channels)


def test_rows_that_agree_are_what_is_computed(plan):
    rings, built = on_file(BALL, plan.segments, plan.channels)
    assert (rings, built) == (plan.rings, built_of(plan))
    assert not warned(built)


def test_a_plan_without_rows_is_what_is_computed(plan):
    assert on_file(BALL, (), ()) == (plan.rings, built_of(plan))


def test_where_a_ring_has_another_pixel_the_row_holds_and_it_is_said(plan):
    code = next(segment.code for segment in reversed(plan.segments) if segment.ring == 3)
    segments, channels = longer_by_one(plan, code)
    rings, built = on_file(BALL, segments, channels)
    assert rings[2].pixels == plan.rings[2].pixels + 1
    assert rings[2].seam_gap_m == pytest.approx(plan.rings[2].seam_gap_m - plan.pitch_m)
    assert [ring for ring in rings if ring.number != 3] == [ring for ring in plan.rings if ring.number != 3]
    assert built.totals.pixels == plan.totals.pixels + 1
    assert warned(built)["segments"] == 1 and warned(built)["runs"] > 1, "all that lie behind it begin a pixel later"


def test_rings_below_those_of_today_get_a_place_below_them(plan):
    last = plan.rings[-1]
    more = PlannedSegment(last.number + 1, 1, 1, 20, 0.0, 180.0)
    channel = PlannedChannel(len(plan.channels) + 1, (PlannedRun(more.code, 1, 20),))
    rings, built = on_file(BALL, (*plan.segments, more), (*plan.channels, channel))
    assert len(rings) == last.number + 1 and rings[-1].pixels == 20
    assert last.polar_deg < rings[-1].polar_deg < 180 and 0 < rings[-1].height_m < last.height_m
    assert built.totals.rings == last.number + 1


def test_rows_that_do_not_fit_together_are_left_to_the_audit(plan):
    lost = next(segment for segment in plan.segments if segment.piece == 2)
    others = tuple(segment for segment in plan.segments if segment != lost)
    rings, built = on_file(BALL, others, plan.channels)
    assert rings[lost.ring - 1].pixels == plan.rings[lost.ring - 1].pixels - lost.pixels
    assert built.totals.segments == len(plan.segments) - 1
    assert built.wiring == built_of(plan).wiring
