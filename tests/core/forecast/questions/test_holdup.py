"""What holds a build up, from what helpers stand by for and what the finish waits for."""

from types import SimpleNamespace

import numpy as np
import pytest

from buildlog.core.forecast.input import ShiftInput
from buildlog.core.forecast.questions.holdup import days_are_short, holdup, otherwise
from tests.core.forecast.small import MONDAY, NOW, helper, hours_of, inputs, shifts

BUILD = inputs(2, crew=(helper("Una", shifts=shifts(2)),), people=(None, None, 2, 1), target=NOW + 20)
LAST = hours_of(MONDAY) + 24 + 17


def seen(*waits: float, limits=()):
    """A forecast in which helpers stand by so many hours (populate, mount, wire, test, not open, limit) of 100."""
    return SimpleNamespace(
        waits=np.array([waits, waits]), hours=np.array([[60.0, 40.0], [60.0, 40.0]]), inputs=BUILD, limits=limits
    )


@pytest.mark.parametrize(
    ("forecast", "code", "values"),
    [
        (seen(0, 0, 9.9, 0, 0, 0), None, {}),
        (seen(0, 0, 10, 0, 0, 0), "held_by_room", {"stage": "wire", "fit": 2}),
        (seen(0, 0, 3, 9, 2, 8), "held_by_room", {"stage": "test", "fit": 1}),
        (seen(0, 0, 3, 1, 2, 8), "held_by_limit", {}),
        (seen(0, 0, 0, 0, 20, 0, limits=[(4, 0.604), (0, 0.3)]), "held_by_jobs", {"percent": 60}),
        (seen(0, 0, 0, 0, 20, 0), "held_by_jobs", {"percent": 0}),
        (seen(0, 0, 0, 0, 20, 0, limits=[(0, 0.6)]), "held_by_order", {"work": "populate"}),
    ],
)
def test_the_reason_is_what_most_hours_are_stood_by_for(forecast, code, values):
    fact = holdup(forecast)
    assert (
        fact is None if code is None else (fact.code, fact.values) == (code, values | {"otherwise": "days_or_target"})
    )


def test_a_later_target_helps_where_somebody_comes_after_it():
    assert otherwise(inputs(2)) == "days"
    assert otherwise(inputs(2, crew=BUILD.helpers, target=LAST)) == "days"
    assert otherwise(inputs(2, crew=BUILD.helpers, target=LAST - 0.1)) == "days_or_target"
    assert otherwise(inputs(2, crew=(), target=NOW)) == "days"


def test_hours_and_days_before_the_target():
    spells = (ShiftInput(NOW + 2, NOW + 10, 1), ShiftInput(NOW + 19, NOW + 27, 2), ShiftInput(NOW + 20, NOW + 28, 2))
    fact = days_are_short(spells, BUILD)
    assert fact.values == {"hours": 9.0, "days": 2, "otherwise": "days_or_target"}
    assert days_are_short((), BUILD).values["hours"] == 0
