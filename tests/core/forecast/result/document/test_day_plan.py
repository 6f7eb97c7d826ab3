"""The day plan as people read it: segments rather than single moves, by day and helper."""

from datetime import date, timedelta

from buildlog.core.forecast.result.document.coding import Moment
from buildlog.core.forecast.result.document.day_plan import DayPlanDocument, Move, Task

NINE = Moment.fromisoformat("2026-03-02T09:00+01:00")


def at(minutes: float) -> Moment:
    return Moment.fromisoformat((NINE + timedelta(minutes=minutes)).isoformat())


def move(begin, end, segment="R1-1", work="populate", helper="Noor", pixels=40, hands=1) -> Move:
    return Move(helper, work, segment, at(begin), at(end), (end - begin) / 60, pixels, hands)


def document(*moves: Move) -> DayPlanDocument:
    return DayPlanDocument(build="SHED", as_of=NINE, finish=None, moves=moves)


def tasks(*moves: Move) -> list[tuple[str, str]]:
    (day,) = document(*moves).days()
    (turn,) = day.turns
    return [(task.segment, task.work) for task in turn.tasks]


def test_moves_on_one_segment_without_a_pause_are_one_task():
    assert tasks(move(0, 30), move(30, 60, work="mount")) == [("R1-1", "populate and mount")]
    assert tasks(move(0, 30), move(31, 60, work="mount")) == [("R1-1", "populate and mount")]
    assert len(tasks(move(0, 30), move(32, 60, work="mount"))) == 2
    assert len(tasks(move(0, 30), move(30, 60, "R1-2"))) == 2


def test_a_job_is_a_task_of_its_own():
    assert tasks(move(0, 30, "", "Scaffold"), move(30, 60, "", "Cables")) == [("", "Scaffold"), ("", "Cables")]


def test_a_task_says_how_much_passes_and_how_many_hands():
    two = Task((move(0, 30, pixels=48), move(30, 60, work="mount", pixels=1080, hands=2)))
    assert (two.amount, two.hands, two.segment) == ("48 and 1,080 pixels", 2, "R1-1")
    assert Task((move(0, 30), move(30, 60, work="mount"))).amount == "40 pixels"
    assert Task((move(0, 30, pixels=1),)).amount == "1 pixel"
    assert Task((move(0, 30, "", "Scaffold", pixels=0),)).amount == ""


def test_a_task_ends_no_sooner_than_a_minute_after_it_began():
    assert Task((move(0, 0.5),)).end == at(1)
    assert (Task((move(0, 30), move(30, 60))).start, Task((move(0, 30), move(30, 60))).end) == (NINE, at(60))


def test_days_have_the_earliest_first_and_each_helpers_own():
    late, early = move(60, 90, helper="Ada"), move(0, 30, helper="Noor")
    tomorrow = move(24 * 60, 24 * 60 + 30, "R2-1", helper="Ada")
    plan = document(late, early, tomorrow)
    assert plan.dates == (date(2026, 3, 2), date(2026, 3, 3)) and plan.helpers == ("Ada", "Noor")
    first, second = plan.days()
    assert [turn.helper for turn in first.turns] == ["Noor", "Ada"] and second.date == date(2026, 3, 3)
    assert plan.part(date(2026, 3, 2), "Ada") == (late,) and plan.part(helper="Ada") == (late, tomorrow)
    assert [day.turns for day in plan.days(date(2026, 3, 2), "Noor")] == [first.turns[:1]]
    assert (first.turns[0].start, first.turns[0].end) == (NINE, at(30))


def test_two_who_begin_at_once_stand_by_name():
    (day,) = document(move(0, 30, helper="Noor"), move(0, 30, helper="Ada")).days()
    assert [turn.helper for turn in day.turns] == ["Ada", "Noor"]


def test_sums_of_a_day_are_in_the_order_of_the_stages_and_jobs_are_no_pixels():
    moves = (
        move(0, 30, work="mount", pixels=30), move(30, 60, pixels=40), move(60, 90, "R1-2", pixels=10),
        move(90, 120, "", "Scaffold", pixels=0),
    )  # fmt: skip
    ((turn,),) = [day.turns for day in document(*moves).days()]
    assert turn.sums == (("populate", 50), ("mount", 30))
    assert turn.populate_h == 1.0 and turn.segments == ("R1-1", "R1-2") and turn.moves == moves


def test_a_plan_of_nothing():
    assert document().days() == () and document().dates == () and document().helpers == ()
