"""A plan from before rings were kept: computed once, and where that disagrees with what is on file, the rows hold."""

from __future__ import annotations

from dataclasses import replace

import pytest

from buildlog.core.plan.built import built_of
from buildlog.core.plan.on_file import complete, on_file
from buildlog.core.plan.parts import PlannedChannel, PlannedRun, PlannedSegment
from buildlog.core.plan.plan import BallPlan, compute
from tests.core.plan.conftest import BALL, ball


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


# ---- whole tables ---------------------------------------------------------------------------


def plan_row(revision: int, plan: BallPlan, created_at: str, frozen: bool = True) -> dict:
    return {
        "revision": revision, "parameters": plan.parameters.to_json(), "created_at": created_at,
        "frozen_at": created_at if frozen else None,
    }  # fmt: skip


def segment_rows(plan: BallPlan, retired_at: str | None = None) -> list[dict]:
    columns = ("code", "ring", "piece", "first_pixel", "pixels", "from_deg", "to_deg", "closing")
    return [{name: getattr(part, name) for name in columns} | {"retired_at": retired_at} for part in plan.segments]


def run_rows(plan: BallPlan, place: dict[str, int]) -> list[dict]:
    return [
        {
            "segment": place[run.segment], "channel": channel.number, "position": position, "first": run.first,
            "last": run.last, "reversed": run.reversed,
        }
        for channel in plan.channels
        for position, run in enumerate(channel.runs, start=1)
    ]  # fmt: skip


MONDAY, TUESDAY = "2026-03-02T09:00:00+00:00", "2026-03-03T09:00:00+00:00"


def test_a_frozen_plan_gets_its_rings_its_facts_and_where_each_run_begins(plan):
    plans, segments = [plan_row(1, plan, MONDAY)], segment_rows(plan)
    runs = run_rows(plan, {row["code"]: place for place, row in enumerate(segments, start=1)})
    rings = complete(plans, segments, runs)
    assert [ring["plan"] for ring in rings] == [1] * len(plan.rings)
    assert [{name: ring[name] for name in ("number", "polar_deg", "pixels", "seam_gap_m")} for ring in rings] == [
        {"number": r.number, "polar_deg": r.polar_deg, "pixels": r.pixels, "seam_gap_m": r.seam_gap_m}
        for r in plan.rings
    ]
    assert [row["lies_on"] for row in segments] == [row["ring"] for row in segments]
    assert {name: plans[0][name] for name in ("built", "wiring")} == built_of(plan).to_json()
    for channel in plan.channels:
        own = [row for row in runs if row["channel"] == channel.number]
        ends = [row["begins"] + row["last"] - row["first"] + 1 for row in own]
        assert [row["begins"] for row in own] == [1, *ends[:-1]] and ends[-1] == channel.pixels + 1


def test_a_draft_gets_its_rings_and_nothing_as_built(plan):
    plans = [plan_row(1, plan, MONDAY, frozen=False)]
    assert len(complete(plans, [], [])) == len(plan.rings) and "built" not in plans[0]


def test_a_segment_that_a_revision_retired_lies_on_the_rings_of_before(plan):
    """Revision 2 stands first in the file; its rings stand behind those of revision 1 all the same."""
    after = compute(ball(outputs=None, max_segment=150))
    plans = [plan_row(2, after, TUESDAY), plan_row(1, plan, MONDAY)]
    retired, kept = segment_rows(plan, TUESDAY), segment_rows(after)
    segments = [*retired, *kept]
    place = {row["code"]: number for number, row in enumerate(segments, start=1)}  # the later one of a code
    rings = complete(plans, segments, run_rows(after, place))
    assert [ring["plan"] for ring in rings] == [2] * len(plan.rings) + [1] * len(after.rings)
    assert [row["lies_on"] for row in retired] == [row["ring"] for row in retired]
    assert [row["lies_on"] for row in kept] == [len(plan.rings) + row["ring"] for row in kept]
    assert plans[0]["built"]["totals"]["segments"] == after.totals.segments
