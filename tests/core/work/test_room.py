"""How many people fit at a stage at once."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.wording import Count, Sentence, all_of
from buildlog.core.work.room import Inside, too_many, why_no_room
from buildlog.core.work.stages import Stage

NOOR, INES = Inside("Noor"), Inside("Ines", resting=True)
TWO_FIT = {"wire": 2}


def test_nobody_is_kept_out_where_there_is_room_or_no_limit():
    assert why_no_room(Stage.WIRE, [NOOR], 1, TWO_FIT) is None
    assert why_no_room(Stage.POPULATE, [NOOR] * 40, 3, TWO_FIT) is None


def test_who_does_not_fit_is_told_who_is_there():
    says = why_no_room(Stage.WIRE, [NOOR, INES], 1, TWO_FIT)
    assert says.template.startswith("{there}, and {fits}{together}") and "lead" in says.template
    assert says.values["there"].values == {"names": all_of(["Noor", "Ines (resting)"]), "stage": "wire"}
    assert says.values["fits"] == Count(2, "{number} person fits", "{number} people fit")


@pytest.mark.parametrize(
    ("inside", "says"), [([NOOR], "; you would be 2 more"), ([], "3 people are too many to wire: 2 people fit")]
)
def test_people_who_come_together_count_together(inside, says):
    assert says in str(why_no_room(Stage.WIRE, inside, 3 - len(inside), TWO_FIT))


def test_the_lead_is_told_of_those_who_had_begun_already():
    assert too_many(Stage.WIRE, ["Marek"], [NOOR, INES], TWO_FIT) == Sentence(
        "{came} began to {stage} beside {inside}, without a network: {together} people at once where {most} fit.",
        came=all_of(["Marek"]), stage="wire", inside=all_of(["Noor", "Ines (resting)"]), together=3, most=2,
    )  # fmt: skip
    assert too_many(Stage.WIRE, ["Marek"], [NOOR], TWO_FIT) is None


@given(st.integers(0, 6), st.integers(1, 4), st.integers(1, 6))
def test_people_fit_exactly_until_the_limit(there, coming, most):
    fits = why_no_room(Stage.TEST, [NOOR] * there, coming, {"test": most}) is None
    assert fits is (there + coming <= most)


def test_work_begun_without_a_network_is_told_to_the_lead_only_where_it_was_too_much():
    assert too_many(Stage.WIRE, ["Noor"], [], {"wire": 1}) is None
    assert too_many(Stage.WIRE, ["Noor"], [], {}) is None
    alone = too_many(Stage.WIRE, ["Noor", "Ada"], [], {"wire": 1})
    assert "beside" not in alone.template and (alone.values["together"], alone.values["most"]) == (2, 1)
    beside = too_many(Stage.WIRE, ["Noor"], [Inside("Marek", resting=True)], {"wire": 1})
    assert beside.values["inside"] == all_of(["Marek (resting)"]) and beside.values["together"] == 2
