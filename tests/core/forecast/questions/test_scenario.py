"""A scenario changes what it names and leaves the rest."""

from dataclasses import replace

import pytest

from buildlog.core.errors import Refused
from buildlog.core.forecast.input import JobInput, ShiftInput
from buildlog.core.forecast.questions.scenario import Scenario, changed, skills_of_all
from tests.core.forecast.small import helper, inputs

BUILD = inputs(4, jobs=(JobInput("Box", 1, 2, 3), JobInput("Paint", 1, 2, 3)))
MORE = ShiftInput(1e6, 1e6 + 8, 1)


def test_nothing_named_is_the_same_build():
    assert changed(BUILD, Scenario("nothing")) == BUILD


def test_names_that_are_not_there_are_all_refused():
    with pytest.raises(Refused) as refused:
        changed(
            BUILD, Scenario("x", without={"Pia"}, shifts=(("Otis", MORE),), order=("R9-9",), people=(("paint", 1),))
        )
    assert [problem.field for problem in refused.value.problems] == ["helper", "helper", "segment", "stage"]


def test_who_is_added_stands_last_and_is_marked():
    after = changed(BUILD, Scenario("more", more=(helper("Mae"),)))
    assert after.helpers == (*BUILD.helpers, replace(helper("Mae"), added=True)) and after.known == 2


def test_who_no_longer_comes_has_no_shifts_and_who_comes_more_keeps_the_others():
    after = changed(BUILD, Scenario("x", without=frozenset({"Una"}), shifts=(("Ivo", MORE), ("Una", MORE))))
    assert after.helpers[0].shifts == () and after.helpers[1].shifts == (*BUILD.helpers[1].shifts, MORE)


def test_limits_order_rework_habits_and_target():
    after = changed(
        BUILD,
        Scenario(
            "x", people=(("wire", None), ("mount", 3)), order=("R3-1", "R2-1", "R3-1"), rework=False, hand_over=True,
            target=5.0,
        ),
    )  # fmt: skip
    assert after.people == (None, 3, None, 2)
    assert [segment.code for segment in after.segments] == ["R3-1", "R2-1", "R1-1", "R4-1"]
    assert (after.rework, after.keeps, after.in_order, after.target) == (False, False, False, 5.0)
    kept = replace(BUILD, keeps=True, in_order=True, target=7.0, rework=False)
    same = changed(kept, Scenario("nothing"))
    assert (same.rework, same.keeps, same.in_order, same.target) == (False, True, True, 7.0)


def test_who_can_everything_names_only_jobs_that_somebody_names():
    assert skills_of_all(BUILD) == {"populate", "mount", "wire", "test"}
    named = inputs(4, crew=(helper("Una", skills=frozenset({"Box", "Glue"})),), jobs=BUILD.jobs)
    assert skills_of_all(named) == {"populate", "mount", "wire", "test", "Box"}
