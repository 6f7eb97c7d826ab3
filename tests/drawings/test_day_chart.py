"""One day of the day plan, drawn: its hours can be read on a phone, however long the day is."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from buildlog.core.forecast.result.document.day_plan import Day, Move, Task, Turn
from buildlog.drawings.day_chart import day_chart
from buildlog.drawings.picture import Words

NINE = datetime(2026, 3, 7, 8, 0, tzinfo=UTC)


def day_of(hours: float) -> Day:
    end = NINE + timedelta(hours=hours)
    task = Task((Move("Marek", "populate", "R1-1", NINE, end, hours, 20, 1),))
    return Day(NINE.date(), (Turn("Marek", (task,)),))


@pytest.mark.parametrize("width", [340, 820])
@pytest.mark.parametrize("hours", [0.5, *range(1, 24)])
def test_hours_under_a_day_cover_none_of_each_other_and_stay_on_the_sheet(width, hours):
    drawn = day_chart(day_of(hours), ZoneInfo("Europe/Oslo"), width)
    spans = [shape.span for shape in drawn.shapes if isinstance(shape, Words) and shape.kind == "tick"]
    assert len(spans) >= 2 and spans[0][0] >= 0 and spans[-1][1] <= width
    assert all(one[1] + 8 <= other[0] for one, other in pairwise(spans))
