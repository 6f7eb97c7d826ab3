"""Parts of a what-if typed in one line."""

from datetime import date, time

import pytest

from buildlog.core.errors import Unreadable
from buildlog.core.forecast.questions.request import MoreHands, MoreShifts
from buildlog.core.forecast.questions.times import Times
from buildlog.core.forecast.questions.typed import more_hands, more_shifts, people

TEN, FIVE = time(10), time(17)


def test_hands_with_days_skills_and_a_last_day():
    assert more_hands("2 Sun,sat 10:00-17:00 populate, mount until 2026-06-01") == MoreHands(
        2, Times(TEN, FIVE, (5, 6), last_day=date(2026, 6, 1)), ("populate", "mount")
    )
    assert more_hands("20 2026-05-02 10.00 – 17.00") == MoreHands(20, Times(TEN, FIVE, day=date(2026, 5, 2)))


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("2 Sat 10:00-17:00 paint", "is not a stage"),
        ("21 Sat 10:00-17:00", "out of range"),
        ("0 Sat 10:00-17:00", "out of range"),
        ("two Sat 10:00-17:00", "not a number"),
        ("2 10:00-17:00", "No day is given"),
        ("2 Sat", "has no times"),
        ("2 Sat 10:00-25:00", "is not a time of day"),
        ("2 Someday 10:00-17:00", "is not a weekday"),
        ("2 2026-02-30 10:00-17:00", "There is no day"),
        ("2 Sat 10:00-17:00 until soon", "is not a day"),
        ("2 Sat 10:00-10:00", "ends when it starts"),
    ],
)
def test_hands_that_cannot_be_read(text, part):
    with pytest.raises(Unreadable) as refused:
        more_hands(text)
    assert part in refused.value.sentence.template


def test_shifts_of_somebody():
    assert more_shifts(" Ines : Sat 10:00-17:00 until 2026-06-01") == MoreShifts(
        "Ines", Times(TEN, FIVE, (5,), last_day=date(2026, 6, 1))
    )


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("Sat 10.00-17.00", "does not say who"),
        (" : Sat 10:00-17:00", "does not say who"),
        ("Ines: Sat 10:00-17:00 populate", "is too much"),
        ("Ines: 10:00-17:00", "No day is given"),
        ("Ines: Sat", "has no times"),
    ],
)
def test_shifts_that_cannot_be_read(text, part):
    with pytest.raises(Unreadable) as refused:
        more_shifts(text)
    assert part in refused.value.sentence.template


def test_how_many_fit():
    assert people(" wire = 3 ") == ("wire", 3) and people("wire=0") == ("wire", 0)
    assert people("test=none") == ("test", None) and people("test=1000") == ("test", 1000)
    for text in ("wire", "paint=3", "=3", "wire=1001", "wire=-1", "wire=x"):
        with pytest.raises(Unreadable):
            people(text)
