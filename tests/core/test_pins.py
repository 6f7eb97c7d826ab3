"""Wrong PINs: slowed, then locked. The limits are ours: five in a quarter of an hour, ten a day."""

from datetime import UTC, datetime, timedelta

import pytest

from buildlog.core.pins import lock_of, tries_left, wait_after

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def test_four_are_no_lock_and_five_are():
    assert lock_of([NOON] * 4, NOON) is None
    assert lock_of([NOON] * 5, NOON).until == NOON + 15 * MINUTE


def test_the_lock_opens_when_the_fifth_last_is_a_quarter_of_an_hour_old():
    tries = [NOON + each * MINUTE for each in range(5)]
    assert lock_of(tries, NOON + 14 * MINUTE).until == NOON + 15 * MINUTE
    assert lock_of(tries, NOON + 15 * MINUTE) is None


def test_ten_in_a_day_lock_for_longer_than_five_in_a_quarter():
    tries = [NOON + each * 60 * MINUTE for each in range(5)] + [NOON + 300 * MINUTE] * 5
    assert lock_of(tries, NOON + 301 * MINUTE).within == "a day"


@pytest.mark.parametrize(("tries", "seconds"), [(0, 0), (1, 1), (2, 2), (3, 4), (4, 8)])
def test_each_wrong_try_makes_the_next_one_wait_longer(tries, seconds):
    assert wait_after([NOON] * tries, NOON) == timedelta(seconds=seconds)


def test_what_was_wrong_long_ago_slows_nobody():
    assert wait_after([NOON] * 4, NOON + 16 * MINUTE) == timedelta(0)


def test_tries_left_count_down_to_none():
    assert [tries_left([NOON] * made, NOON) for made in (0, 3, 5, 7)] == [5, 2, 0, 0]


def test_tries_counted_by_a_clock_that_ran_ahead_lock_nobody():
    """The server's clock was an hour fast and is put right: nobody waits for that hour."""
    tries = [NOON + 60 * MINUTE] * 10
    assert lock_of(tries, NOON) is None
    assert wait_after(tries[:1], NOON) == timedelta(0)
    assert tries_left(tries, NOON) == 5


def test_a_try_that_another_process_counted_a_moment_later_counts():
    tries = [NOON + timedelta(seconds=1)] * 5
    assert lock_of(tries, NOON) is not None
    assert wait_after(tries[:1], NOON) == timedelta(seconds=2)
