"""What was open to work on at a moment of the log."""

from dataclasses import replace

from buildlog.core.forecast.input import RunInput, SegmentInput, StintInput, hours_of
from buildlog.core.forecast.learn.open_work import OpenWork
from tests.core.forecast.learn.test_pauses import populated
from tests.core.forecast.small import MONDAY, helper, inputs, segments

DAY = hours_of(MONDAY)  # midnight before that Monday


def test_open_work_knows_order_limits_and_the_way_of_the_data():
    chained = tuple(SegmentInput(f"R{n}-1", 50, done=(50, 50, 0, 0), runs=(RunInput(1, n, 50),)) for n in (1, 2, 3))
    wired = (
        StintInput("wire", (0,), DAY + 9, DAY + 10, 50, "R2-1"),
        StintInput("wire", (0,), DAY + 10, DAY + 12, 50, "R1-1"),
    )
    known = inputs(
        segments=tuple(replace(segment, done=(50, 50, 50 * (segment.code != "R3-1"), 0)) for segment in chained),
        stints=wired, people=(None, None, 1, None), as_of=DAY + 16,
    )  # fmt: skip
    tester, wirer = (helper(skills=frozenset({word})) for word in ("test", "wire"))
    is_open = OpenWork(known).to
    assert not is_open(tester, DAY + 11) and is_open(tester, DAY + 12)  # R2-1 is wired, but data waits for R1-1
    assert not is_open(wirer, DAY + 11) and is_open(wirer, DAY + 12.5)  # one fits at a time


def test_what_was_never_populated_is_open_to_populate_until_the_limit_of_the_day():
    is_open = OpenWork(inputs(2)).to
    una = helper("Una", skills=frozenset({"populate"}), populate_limit_h=2.0)
    assert is_open(una, DAY) and is_open(una, DAY, 1.9) and not is_open(una, DAY, 2.0)
    assert is_open(helper("Ivo", populate_limit_h=None), DAY, 99.0)
    assert not is_open(helper("Mae", skills=frozenset({"mount"})), DAY)


def test_a_closing_segment_is_never_open_to_mount_and_waits_for_populating_to_be_wired():
    closing = segments(1, closing=True, done=(100, 0, 0, 0))
    is_open = OpenWork(inputs(segments=closing)).to
    assert not is_open(helper(skills=frozenset({"mount"})), DAY) and is_open(helper(skills=frozenset({"wire"})), DAY)


def test_what_was_done_without_a_stint_was_done_always():
    populate, mount = (helper(skills=frozenset({word})) for word in ("populate", "mount"))
    is_open = OpenWork(inputs(segments=segments(1, done=(100, 0, 0, 0)))).to
    assert not is_open(populate, DAY - 9e5) and is_open(mount, DAY - 9e5)


def test_a_segment_is_done_when_its_last_pixel_is():
    halves = (populated(1, DAY + 9, 30), populated(1, DAY + 12, 30))
    halves = tuple(replace(stint, pixels=50) for stint in halves)
    known = inputs(segments=segments(1, done=(100, 0, 0, 0)), stints=halves, as_of=DAY + 16)
    mount = helper(skills=frozenset({"mount"}))
    assert not OpenWork(known).to(mount, DAY + 12.4) and OpenWork(known).to(mount, DAY + 12.5)
