"""What depends on what."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.wording import Count, Sentence
from buildlog.core.work.order import (
    CloseInState,
    RunLink,
    SegmentProgress,
    open_now,
    why_not,
    why_not_back,
    workable,
)
from buildlog.core.work.stages import STAGES, Stage, order_of, stage_after, stage_before

POPULATE, MOUNT, WIRE, TEST = STAGES
OPEN_WAY = CloseInState(confirmed=True)


def standing(populated=0, mounted=0, wired=0, tested=0, pixels=40, closing=False) -> SegmentProgress:
    return SegmentProgress(
        "R12-3", pixels, closing, dict(zip(STAGES, (populated, mounted, wired, tested), strict=True))
    )


def test_stages_follow_one_another_populate_mount_wire_test():
    assert order_of(closing=False) == (POPULATE, MOUNT, WIRE, TEST)
    assert stage_before(MOUNT, False) is POPULATE
    assert stage_after(TEST, False) is None


def test_a_closing_segment_is_wired_before_it_is_mounted():
    assert order_of(closing=True) == (POPULATE, WIRE, MOUNT, TEST)
    assert why_not(standing(populated=40, closing=True), WIRE, 40) is None
    refusal = why_not(standing(populated=40, closing=True), MOUNT, 40, close_in=OPEN_WAY)
    assert "a closing segment is wired before it is mounted" in refusal.template
    assert (refusal.values["before"], refusal.values["passed"], refusal.values["stage"]) == ("wire", 0, "mount")


def test_pixels_may_pass_a_stage_only_after_the_one_before():
    assert why_not(standing(populated=10), MOUNT, 10) is None
    assert why_not(standing(populated=10), MOUNT, 11) == Sentence(
        "{code} has {passed} of {pixels} pixels {before_done}, and {now} {done}: {before} first, then {stage}.",
        code="R12-3", passed=10, pixels=40, before_done="populated", now=0, done="mounted",
        before="populate", stage="mount",
    )  # fmt: skip


def test_more_pixels_than_are_left_are_refused_with_what_is_left():
    assert why_not(standing(populated=10), POPULATE, 31) == Sentence(
        "{pixels} pixels are more than {code} has left: {left} of its {whole} are not yet {done}.",
        pixels=31, code="R12-3", left=30, whole=40, done="populated",
    )  # fmt: skip
    assert why_not(standing(populated=40), POPULATE, 1) == Sentence(
        "All {pixels} pixels of {code} are {done} already.", pixels=40, code="R12-3", done="populated"
    )


@pytest.mark.parametrize("pixels", [0, -5])
def test_a_count_below_one_is_refused(pixels):
    assert why_not(standing(), POPULATE, pixels) == Sentence(
        "Found {pixels} pixels: give a whole number from 1 to {left}.", pixels=pixels, left=40
    )


def test_a_run_is_tested_only_when_every_run_before_it_on_its_channel_is_wired():
    ready = standing(40, 40, 40)
    link = RunLink(channel=3, first=1, last=40, before=("R11-2",))
    assert why_not(ready, TEST, 40, [RunLink(3, 1, 40)]) is None
    refusal = why_not(ready, TEST, 40, [link])
    assert refusal.template.startswith("Data does not reach {code} yet") and refusal.template.endswith("Wire it first.")
    assert refusal.values == {
        "code": "R12-3", "channel": 3, "segments": Count(1, "{number} segment", "{number} segments"), "names": "R11-2",
    }  # fmt: skip


def test_the_part_on_a_channel_that_is_lit_may_be_tested_while_the_rest_waits():
    ready = standing(40, 40, 40)
    links = [RunLink(3, 1, 15), RunLink(4, 16, 40, before=("R12-2",))]
    assert open_now(ready, TEST, links) == 15
    assert why_not(ready, TEST, 15, links) is None
    assert why_not(ready, TEST, 16, links).values["channel"] == 4


@pytest.mark.parametrize(
    ("close_in", "missing", "number"),
    [
        (CloseInState(unwired=2, confirmed=True), "{segments} to wire", [2]),
        (CloseInState(untested=1, confirmed=True), "{segments} to test", [1]),
        (CloseInState(faults=3, confirmed=True), "{faults} to mend", [3]),
        (CloseInState(), "the lead's word that nobody is inside, tools are out and power is isolated", []),
    ],
)
def test_the_way_in_stays_open_until_nothing_stands_in_the_way(close_in, missing, number):
    ready = standing(populated=40, wired=40, closing=True)
    refusal = why_not(ready, MOUNT, 40, close_in=close_in)
    assert refusal.template == "{code} closes the way in. Still missing: {missing}."
    assert [phrase.template for phrase in refusal.values["missing"].each] == [missing]
    assert [getattr(count, "number", None) for count in refusal.values["missing"].each[0].values.values()] == number
    assert open_now(ready, MOUNT, close_in=close_in) == 0


def test_the_lead_can_confirm_or_override_the_close_in():
    ready = standing(populated=40, wired=40, closing=True)
    assert why_not(ready, MOUNT, 40, close_in=OPEN_WAY) is None
    assert why_not(ready, MOUNT, 40, close_in=CloseInState(unwired=9, overridden=True)) is None


def test_pixels_are_taken_back_from_the_last_stage_first():
    assert why_not_back(standing(40, 10), POPULATE, 31) == Sentence(
        "{passed} pixels of {code} are {done} already: take those back first, then {before}.",
        passed=10, code="R12-3", done="mounted", before="populated",
    )  # fmt: skip
    assert why_not_back(standing(40, 10), POPULATE, 30) is None
    assert why_not_back(standing(40, 10), MOUNT, 11) == Sentence(
        "{code} has only {passed} pixels {done}: {pixels} cannot be taken back.",
        code="R12-3", passed=10, done="mounted", pixels=11,
    )  # fmt: skip


def test_later_stages_are_offered_first():
    assert workable(standing(40, 20, 10)) == ((TEST, 10), (WIRE, 10), (MOUNT, 20))


counts = st.integers(0, 40)


@given(counts, counts, counts, counts, st.booleans(), st.sampled_from(STAGES))
def test_what_is_open_now_is_exactly_what_may_be_ticked(a, b, c, d, closing, stage):
    here = standing(a, b, c, d, closing=closing)
    most = open_now(here, stage, close_in=OPEN_WAY)
    assert most == 0 or why_not(here, stage, most, close_in=OPEN_WAY) is None
    assert why_not(here, stage, most + 1, close_in=OPEN_WAY) is not None


@given(counts, counts, counts, counts, st.sampled_from(STAGES), st.integers(1, 40))
def test_a_tick_and_its_undo_lead_back_to_where_one_was(a, b, c, d, stage, pixels):
    here = standing(a, b, c, d)
    if why_not(here, stage, pixels) is None:
        done = dict(here.done)
        done[stage] += pixels
        after = SegmentProgress(here.code, here.pixels, here.closing, done)
        consistent = a >= b >= c >= d
        assert not consistent or why_not_back(after, Stage(stage), pixels) is None
