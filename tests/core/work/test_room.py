"""How many people fit at a stage at once."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.work.room import Inside, too_many, why_no_room
from buildlog.core.work.stages import Stage

NOOR, INES = Inside("Noor"), Inside("Ines", resting=True)
TWO_FIT = {"wire": 2}


def test_nobody_is_kept_out_where_there_is_room_or_no_limit():
    assert why_no_room(Stage.WIRE, [NOOR], 1, TWO_FIT) is None
    assert why_no_room(Stage.POPULATE, [NOOR] * 40, 3, TWO_FIT) is None


def test_who_does_not_fit_is_told_who_is_there():
    says = why_no_room(Stage.WIRE, [NOOR, INES], 1, TWO_FIT)
    assert says.startswith("Noor and Ines (resting) are there to wire, and 2 people fit") and "lead" in says


@pytest.mark.parametrize(("inside", "says"), [([NOOR], "2 more"), ([], "3 people are too many to wire: 2 people fit")])
def test_people_who_come_together_count_together(inside, says):
    assert says in why_no_room(Stage.WIRE, inside, 3 - len(inside), TWO_FIT)


def test_the_lead_is_told_of_those_who_had_begun_already():
    assert too_many(Stage.WIRE, ["Marek"], [NOOR, INES], TWO_FIT) == (
        "Marek began to wire beside Noor and Ines (resting), without a network: 3 people at once where 2 fit."
    )
    assert too_many(Stage.WIRE, ["Marek"], [NOOR], TWO_FIT) is None


@given(st.integers(0, 6), st.integers(1, 4), st.integers(1, 6))
def test_people_fit_exactly_until_the_limit(there, coming, most):
    fits = why_no_room(Stage.TEST, [NOOR] * there, coming, {"test": most}) is None
    assert fits is (there + coming <= most)
