"""A crew of one, no noise, no spread in rates: the end is what arithmetic says, to the second."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from buildlog.core.forecast.input import ForecastInput, Helper, RunInput, SegmentInput, ShiftInput, hours_of, moment_of
from buildlog.core.forecast.simulate.arrays import Learned, arrays_of
from buildlog.core.forecast.simulate.draws import calm_draws
from buildlog.core.forecast.simulate.run import play
from buildlog.core.work.stages import POPULATE

RATES = (400.0, 350.0, 6.0, 15.0)  # pixels, pixels, runs, runs an hour
PIECE_H = 100 / 400 + 100 / 350 + 1 / 6 + 1 / 15
SECOND = timedelta(seconds=1)


def inputs(as_of: datetime, shifts: list[tuple[datetime, datetime]], segments: int = 20, **helper) -> ForecastInput:
    spells = tuple(ShiftInput(hours_of(a), hours_of(b), a.date().toordinal()) for a, b in shifts)
    return ForecastInput(
        as_of=hours_of(as_of),
        segments=tuple(
            SegmentInput(f"R{n}-1", 100, runs=(RunInput(1, n, 100),), ring=n) for n in range(1, segments + 1)
        ),
        helpers=(Helper("Una", shifts=spells, **{"populate_limit_h": None, **helper}),),
        time_zone="Europe/Berlin",
    )


def exact_finish(w: ForecastInput) -> datetime | None:
    """The end of the one trial in which everybody comes and works at exactly the rates above."""
    learned = Learned(w)
    calm = calm_draws(w, learned)
    effort = np.broadcast_to(-np.log(np.array(RATES)), calm.effort.shape).copy()
    draws = calm._replace(effort=effort, stages=np.zeros_like(calm.stages), once=np.zeros_like(calm.once))
    after = play(arrays_of(w, learned), draws)["finish"][0]
    return None if math.isinf(after) else moment_of(w.as_of + after)


def by_arithmetic(shifts: list[tuple[datetime, datetime]], hours: float) -> datetime:
    """Walk the shifts in UTC until the hours are used up."""
    for start, end in ((a.astimezone(UTC), b.astimezone(UTC)) for a, b in shifts):
        length = (end - start) / timedelta(hours=1)
        if hours <= length:
            return start + timedelta(hours=hours)
        hours -= length
    raise AssertionError("more work than shifts")


def days(first: datetime, number: int, start: int, end: int) -> list[tuple[datetime, datetime]]:
    """The same local hours every day; an end before the start is the next day's."""
    found = []
    for day in range(number):
        a = (first + timedelta(days=day)).replace(hour=start)
        b = (first + timedelta(days=day + (end <= start))).replace(hour=end)
        found.append((a, b))
    return found


BERLIN = ZoneInfo("Europe/Berlin")


@pytest.mark.parametrize(
    ("first", "start", "end"),
    [
        (datetime(2026, 3, 2, tzinfo=BERLIN), 9, 12),  # no clock change near
        # IANA time zone database: in Berlin 29 March 2026 has 23 hours, 25 October 25.
        (datetime(2026, 3, 27, tzinfo=BERLIN), 9, 12),
        (datetime(2026, 3, 27, tzinfo=BERLIN), 22, 6),
        (datetime(2026, 10, 23, tzinfo=BERLIN), 22, 6),
    ],
)
def test_one_helper_without_noise_ends_when_arithmetic_says(first, start, end):
    shifts = days(first, 10, start, end)
    found = exact_finish(inputs(first, shifts))
    assert abs(found - by_arithmetic(shifts, 20 * PIECE_H)) <= SECOND


def test_a_night_shift_over_the_clock_change_is_an_hour_shorter_and_longer():
    spring, autumn = datetime(2026, 3, 28, tzinfo=BERLIN), datetime(2026, 10, 24, tzinfo=BERLIN)
    for first, hours in (spring, 7), (autumn, 9):
        ((a, b),) = days(first, 1, 22, 6)
        whole = inputs(first, [(a, b)], segments=int(hours / PIECE_H))
        assert exact_finish(whole) <= b.astimezone(UTC)
        assert exact_finish(inputs(first, [(a, b)], segments=int(hours / PIECE_H) + 1)) is None


def test_work_that_the_shifts_do_not_hold_never_ends():
    first = datetime(2026, 3, 2, tzinfo=BERLIN)
    assert exact_finish(inputs(first, days(first, 3, 9, 12))) is None


def test_common_practice_makes_twenty_thousand_pixels_fifty_person_hours():
    """Common practice, no source: 100 pixels in 15 minutes, so 20,000 pixels make 50 person-hours of populating."""
    first = datetime(2026, 3, 2, tzinfo=BERLIN)
    shifts = days(first, 40, 8, 16)
    segments = tuple(SegmentInput(f"R{n}-1", 100, (0, 0, 0, 0), (RunInput(1, n, 100),), n) for n in range(1, 201))
    only = inputs(first, shifts, segments=1, skills=frozenset({"populate"}))
    w = ForecastInput(only.as_of, segments, only.helpers, time_zone="Europe/Berlin")
    learned = Learned(w)
    calm = calm_draws(w, learned)
    effort = np.full_like(calm.effort, -math.log(400.0))
    draws = calm._replace(effort=effort, stages=np.zeros_like(calm.stages))
    result = play(arrays_of(w, learned), draws)[0]
    assert result["hours"][POPULATE] == pytest.approx(50.0, rel=1e-9)
    assert math.isinf(result["finish"]), "nobody can mount, so it never ends"
