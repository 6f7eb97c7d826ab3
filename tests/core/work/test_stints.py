"""Spells of work: what is impossible, what is doubtful, how one is shared out over segments."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from buildlog.core.work.stages import Stage
from buildlog.core.work.stints import Spell, StintTick, doubtful, forgotten, overlaps, parts

NINE = datetime(2026, 3, 2, 9, tzinfo=UTC)
OSLO = ZoneInfo("Europe/Oslo")


def at(hours: float) -> datetime:
    return NINE + timedelta(hours=hours)


def test_a_stint_that_ends_before_it_starts_is_impossible():
    assert "before it starts" in Spell(NINE, at(-1)).problem().what


def test_a_break_longer_than_the_stint_is_impossible():
    assert "30 min is longer than the stint of 5 min" in Spell(NINE, at(1 / 12), timedelta(minutes=30)).problem().what


def test_a_stint_of_no_length_is_possible_and_has_no_hours():
    assert Spell(NINE, NINE).problem() is None
    assert Spell(NINE, NINE).hours == 0


@pytest.mark.parametrize(
    ("zone", "start", "end", "hours"),
    [
        # IANA time zone database: night shifts 22:00–06:00 over the clock changes of 2026.
        ("America/New_York", datetime(2026, 3, 7, 22), datetime(2026, 3, 8, 6), 7),
        ("America/New_York", datetime(2026, 10, 31, 22), datetime(2026, 11, 1, 6), 9),
        ("Europe/Berlin", datetime(2026, 3, 28, 22), datetime(2026, 3, 29, 6), 7),
        ("Europe/Berlin", datetime(2026, 10, 24, 22), datetime(2026, 10, 25, 6), 9),
    ],
)
def test_a_night_shift_over_a_clock_change_has_the_hours_really_worked(zone, start, end, hours):
    local = ZoneInfo(zone)
    assert Spell(start.replace(tzinfo=local).astimezone(UTC), end.replace(tzinfo=local).astimezone(UTC)).hours == hours


def test_touching_stints_do_not_overlap_and_a_running_one_overlaps_all_that_follows():
    assert not overlaps(NINE, at(1), at(1), at(2))
    assert overlaps(NINE, at(1), at(0.5), at(2))
    assert overlaps(NINE, None, at(8), at(9))


def test_more_than_twelve_hours_look_like_a_forgotten_stop():
    assert doubtful(NINE, at(12), OSLO, False) is None
    assert "12 h" in doubtful(NINE, at(12.1), OSLO, True)


def test_past_midnight_without_a_tick_looks_like_a_forgotten_stop():
    evening = datetime(2026, 3, 2, 20, tzinfo=UTC)  # 21:00 in Oslo
    assert doubtful(evening, evening + timedelta(hours=3), OSLO, False) is None
    assert "midnight" in doubtful(evening, evening + timedelta(hours=3.5), OSLO, False)
    assert doubtful(evening, evening + timedelta(hours=3.5), OSLO, True) is None


def mark(segment: str, pixels: int, hours: float) -> StintTick:
    return StintTick(segment, Stage.MOUNT, pixels, at(hours))


def test_a_stint_without_ticks_is_one_part_of_no_pixels():
    (only,) = parts(NINE, at(2), timedelta(0), [], "R1-1")
    assert (only.segment, only.pixels, only.end) == ("R1-1", 0, at(2))


def test_a_stint_over_two_segments_is_cut_at_the_last_tick_of_the_first():
    one, other = parts(
        NINE, at(3), timedelta(hours=0.3), [mark("R1-1", 10, 0.5), mark("R1-1", 5, 1), mark("R1-2", 20, 2)]
    )
    assert (one.segment, one.pixels, one.start, one.end) == ("R1-1", 15, NINE, at(1))
    assert (other.segment, other.pixels, other.start, other.end) == ("R1-2", 20, at(1), at(3))
    assert one.rest + other.rest == timedelta(hours=0.3)


def test_what_was_ticked_and_undone_leaves_no_part():
    (only,) = parts(NINE, at(1), timedelta(0), [mark("R1-1", 10, 0.5), mark("R1-1", -10, 0.6), mark("R1-2", 4, 0.9)])
    assert (only.segment, only.pixels) == ("R1-2", 4)


@pytest.mark.parametrize(
    ("begun", "now", "last_tick", "asked"),
    [
        (0, 8, None, False),  # 18:00 the same day
        (0, 12.1, 12.0, True),  # more than 12 h, whatever was ticked
        (10, 14.5, 13.0, False),  # 00:30, busy at 23:00
        (10, 14.5, 11.0, True),  # 00:30, nothing since 21:00
        (10, 16, 14.2, False),  # ticked after midnight
        (13, 15.9, None, False),  # begun at 23:00, less than three hours ago
        (13, 16.1, None, True),
    ],
)
def test_a_running_stint_is_taken_for_forgotten(begun, now, last_tick, asked):
    """Rule of ours: past 12 h, or past midnight with nothing ticked for three hours. NINE is 10:00 in Oslo."""
    ticked = None if last_tick is None else at(last_tick)
    assert bool(forgotten(at(begun), at(now), OSLO, ticked)) is asked
