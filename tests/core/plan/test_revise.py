"""Changing a plan while work goes on: what stays, what the lead decides, nothing ticked forgotten."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.core.plan.plan import compute
from buildlog.core.plan.revise import Decision, Fate, revise
from tests.core.plan.conftest import BALL, ball

BEFORE = compute(ball(outputs=None))


def test_the_same_plan_changes_nothing() -> None:
    revision = revise(BEFORE, compute(ball(outputs=None)), {"R1-1": 10})
    assert {change.fate for change in revision.changes} == {Fate.STAYS}
    assert revision.open == () == revision.rewired


def test_other_channels_leave_the_strap_alone() -> None:
    revision = revise(BEFORE, compute(ball(outputs=None, capacity=400)))
    assert {change.fate for change in revision.changes} == {Fate.STAYS}
    assert revision.rewired


def test_longer_segments_change_the_rings_that_are_cut_anew() -> None:
    after = compute(ball(outputs=None, max_segment=150))
    revision = revise(BEFORE, after, {"R30-1": 40, "R30-3": 5, "R1-1": 28})
    fates = {change.code: change.fate for change in revision.changes}
    assert fates["R1-1"] is Fate.STAYS
    assert fates["R30-1"] is Fate.CHANGES
    assert fates["R30-3"] is Fate.GOES
    waiting = {change.code: change.choices for change in revision.open}
    assert waiting == {
        "R30-1": (Decision.KEEP, Decision.MOVE, Decision.REDO),
        "R30-3": (Decision.MOVE, Decision.REDO),
    }
    assert revision.undecided({"R30-1": Decision.KEEP, "R30-3": Decision.KEEP}) == ("R30-3",)


def test_a_ring_cut_by_hand_changes_only_that_ring() -> None:
    pixels = BEFORE.rings[9].pixels
    after = compute(ball(outputs=None, hand_pieces=((10, (pixels - 30, 30)),), max_segment=100))
    changed = {change.code for change in revise(BEFORE, after).changes if change.fate is not Fate.STAYS}
    assert changed == {"R10-1", "R10-2"}


def test_another_pitch_or_height_is_said() -> None:
    after = compute(ball(outputs=None, pitch_m=0.0301))
    whys = {change.why for change in revise(BEFORE, after).of(Fate.CHANGES)}
    assert all("pitch 30 mm → 30.1 mm" in why for why in whys)
    lower = compute(replace(BALL, outputs=None, top_pixels=29))
    assert any("lower" in change.why for change in revise(BEFORE, lower).of(Fate.CHANGES))


def test_a_segment_that_now_closes_the_way_in_is_said() -> None:
    change = next(
        change
        for change in revise(BEFORE, compute(ball(outputs=None, closing_rings=(61, 61)))).changes
        if change.code == "R61-1"
    )
    assert (change.fate, change.why) == (Fate.CHANGES, "now closes the way in")


@settings(max_examples=25, deadline=None)
@given(st.integers(60, 140), st.sampled_from([28, 35]), st.floats(0.055, 0.065))
def test_every_ticked_segment_stays_or_waits_for_a_decision(longest: int, top: int, spacing: float) -> None:
    after = compute(ball(outputs=None, max_segment=longest, top_pixels=top, ring_spacing_m=spacing))
    ticked = {segment.code: 1 for segment in BEFORE.segments[::3]}
    revision = revise(BEFORE, after, ticked)
    stays = {change.code for change in revision.of(Fate.STAYS)}
    waits = {change.code for change in revision.open}
    assert set(ticked) <= stays | waits
    assert {change.code for change in revision.changes if change.after} == set(after.by_code)


def test_a_seam_on_another_rib_is_said_and_changes_are_found_by_code() -> None:
    ribs = compute(ball(outputs=None, ribs=12))
    revision = revise(ribs, compute(ball(outputs=None, ribs=12, seam_rib=2)))
    assert "seam at 30° instead of 0°" in revision.by_code["R1-1"].why
    assert revision.by_code["R1-1"].fate is Fate.CHANGES and set(revision.by_code) >= set(ribs.by_code)
