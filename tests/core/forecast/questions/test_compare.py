"""Beside each other: every figure with its difference from today, in words."""

from __future__ import annotations

from dataclasses import replace

import pytest
from msgspec import structs

from buildlog.core.forecast.questions.compare import Column, ComparedCell, Comparison
from buildlog.core.forecast.questions.day_plan import DayPlan, day_plan
from buildlog.core.forecast.questions.reach_target import what_it_takes
from buildlog.core.forecast.questions.scenario import Scenario
from buildlog.core.forecast.questions.what_if import side_by_side
from buildlog.core.forecast.result.document.coding import decode, encode, moment
from buildlog.core.forecast.result.document.day_plan import DayPlanDocument
from buildlog.core.forecast.result.document.forecast import Target
from buildlog.core.forecast.result.document.target import TargetDocument
from buildlog.core.forecast.result.sentences import who
from tests.core.forecast.small import NOW, finished, helper, inputs


@pytest.fixture(scope="module")
def build():
    return inputs(number=40, crew=(helper("Una"), helper("Ivo", skills=frozenset({"populate", "mount"}))))


@pytest.fixture(scope="module")
def beside(build) -> Comparison:
    changes = [
        Scenario("no Ivo", without=frozenset({"Ivo"})),
        Scenario("same"),
        Scenario("nobody", without=frozenset({"Ivo", "Una"})),
    ]
    aimed = replace(build, target=NOW + 24 * 2)
    today, *others = [seen.document().key_figures for seen in side_by_side(aimed, changes, trials=60, seed=1)]
    return Comparison(
        (Column("Today", today), *(Column(c.name, r, today) for c, r in zip(changes, others, strict=True)))
    )


def test_todays_column_has_no_differences(beside):
    assert all(not cell.change and cell.better is None for _, cell in (*beside.dates[0].cells, *beside.work[0].cells))


def test_somebody_less_is_later_and_less_sure(beside):
    cells = dict(beside.dates[1].cells)
    assert cells["50 % sure"].change.endswith("later") and cells["50 % sure"].better is False
    assert cells["Chance of the target"].change.startswith("−") and cells["Chance of the target"].better is False


def test_the_same_is_said_to_be_the_same(beside):
    assert {cell.change for _, cell in beside.dates[2].cells} <= {"the same day", "no change"}


def test_without_a_date_it_says_so(beside):
    cell = dict(beside.dates[3].cells)["80 % sure"]
    assert (cell.text, cell.change) == ("not within the shifts noted", "has no date any more")


def test_hours_by_kind_of_work_name_each_kind_that_is_left(beside):
    assert [what for what, _ in beside.work[0].cells][:5] == ["Together", "populate", "mount", "wire", "test"]


def saved(plan: DayPlan) -> DayPlanDocument:
    return decode(DayPlanDocument, encode(plan.document()))


def test_a_saved_day_plan_has_every_move_and_every_pixel(build):
    plan = day_plan(build)
    read = saved(plan)
    assert len(read.moves) == len(plan.turns)
    tasks = [task for day in read.days() for turn in day.turns for task in turn.tasks]
    assert sum(len(task.moves) for task in tasks) == len(plan.turns) and len(tasks) < len(plan.turns)
    for number, stage in enumerate(("populate", "mount", "wire", "test")):
        assert sum(move.pixels for move in read.moves if move.work == stage) == build.units_left(0), number
    assert all(task.end > task.start for task in tasks)


def test_a_day_or_a_helper_can_be_read_alone(build):
    read = saved(day_plan(build))
    (day,) = read.days(day=read.dates[0], helper="Una")
    assert day.date == read.dates[0] and [turn.helper for turn in day.turns] == ["Una"]
    assert day.turns[0].populate_h == pytest.approx(
        sum(turn.end - turn.start for turn in day_plan(build).turns
            if turn.work == "populate" and turn.helper == 0 and turn.start < NOW + 17), abs=0.01,
    )  # fmt: skip


def test_a_finished_build_has_an_empty_day_plan(build):
    assert saved(day_plan(finished(build))).dates == ()


def test_the_hands_that_come_together_are_one_line(build):
    takes = what_it_takes(replace(build, target=NOW + 34), chance=0.8, trials=60, seed=1)
    document = decode(TargetDocument, encode(takes.document()))
    assert sum(extra.hours for extra in document.extras) == pytest.approx(takes.hours, abs=0.1)
    assert len({(extra.start, extra.end) for extra in document.extras}) == len(document.extras)
    assert [step.helpers for step in document.steps] == [0, *range(len(document.steps) - 1)]
    assert [str(who(step)) for step in document.steps[:2]] == ["nobody more", "nobody more, begun segments handed over"]


def figures(today, **changes):
    """Today's figures with some changed."""
    return structs.replace(today, **changes)


def cell_of(column: Column, what: str) -> ComparedCell:
    return dict(Comparison((column,)).dates[0].cells)[what]


def test_other_targets_and_no_target_are_named_and_not_compared(beside):
    today = beside.columns[0].figures
    later = Target(moment(NOW + 24 * 9, "UTC"), today.target.probability)
    assert cell_of(Column("x", figures(today, target=later), today), "Chance of the target").change == "for Wed 10 Jun"
    both = Comparison((Column("Today", figures(today, target=None)), Column("x", today, figures(today, target=None))))
    assert [line.cells[4][1].text for line in both.dates] == ["no target", f"{today.target.percent} %"]
    none = Comparison((Column("Today", figures(today, target=None)),))
    assert none.target is None and len(none.dates[0].cells) == 5


def test_a_surer_target_and_a_date_that_is_there_now_are_better(beside):
    today = beside.columns[0].figures
    surer = figures(today, target=structs.replace(today.target, probability=0.9))
    sure = figures(today, target=structs.replace(today.target, probability=0.6))
    cell = cell_of(Column("x", surer, sure), "Chance of the target")
    assert (cell.text, cell.change, cell.better) == ("90 %", "+30 points", True)
    undated = figures(today, finish=structs.replace(today.finish, p50=None))
    assert cell_of(Column("x", today, undated), "50 % sure").change == "has a date now"
    assert cell_of(Column("x", today, undated), "50 % sure").better is True
    assert cell_of(Column("x", undated, undated), "50 % sure").change == ""


def test_a_day_sooner_is_one_day(beside):
    today = beside.columns[0].figures
    day = structs.replace(today.finish, p50=moment(NOW + 24 * 3, "UTC"))
    before = structs.replace(today.finish, p50=moment(NOW + 24 * 4, "UTC"))
    cell = cell_of(Column("x", figures(today, finish=day), figures(today, finish=before)), "50 % sure")
    assert (cell.change, cell.better) == ("1 day sooner", True)
    less = structs.replace(today.labour_hours_left["total"], p50=today.labour_hours_left["total"].p50 - 1.5)
    fewer = figures(today, labour_hours_left=today.labour_hours_left | {"total": less})
    hours = cell_of(Column("x", fewer, today), "Hours left")
    assert (hours.change, hours.better) == ("−1.5 h", True)
