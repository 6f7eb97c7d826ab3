"""What a forecast is made from is checked at birth: every problem at once, with its values."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from buildlog.core.errors import Refused
from buildlog.core.forecast.input import (
    ForecastInput,
    JobInput,
    RunInput,
    SegmentInput,
    ShiftInput,
    StandardRates,
    StintInput,
    hours_of,
    moment_of,
)
from tests.core.forecast.small import NOW, finished, helper, inputs, segments, stint

INF, NAN = float("inf"), float("nan")


def problems(**also) -> list[tuple[str, dict]]:
    """(field, values) of what is refused."""
    with pytest.raises(Refused) as refused:
        inputs(**also)
    return [(problem.field, dict(problem.sentence.values)) for problem in refused.value.problems]


def test_moments_are_hours_since_1970_in_utc():
    noon = datetime(1970, 1, 2, 12, 30, tzinfo=timezone(timedelta(hours=2)))
    assert hours_of(noon) == 34.5 and moment_of(34.5) == datetime(1970, 1, 2, 10, 30, tzinfo=UTC)
    assert moment_of(1 / 3600 * 1.4) == datetime(1970, 1, 1, 0, 0, 1, tzinfo=UTC)
    with pytest.raises(Refused, match="has no time zone"):
        hours_of(datetime(1970, 1, 2))


def test_a_segment_is_pixels_to_hang_and_runs_to_wire():
    segment = SegmentInput("R1-1", 80, (40, 20, 0, 0), (RunInput(1, 1, 50), RunInput(2, 1, 30)))
    assert [segment.units(stage) for stage in range(4)] == [80, 80, 2, 2]
    assert [segment.left(stage) for stage in range(4)] == [40, 60, 2, 2]
    assert SegmentInput("R1-1", 80).units(2) == 1
    assert segment.size(0, 80.0) == 0 and segment.size(2, 80.0) == pytest.approx(0.6931, abs=1e-4)  # ln 2
    assert SegmentInput("R1-1", 80, (90, 0, 0, 0)).left(0) == 0


def test_person_hours_of_a_stint_are_those_of_all_without_the_break():
    assert StintInput("mount", (0, 1), 10.0, 12.0, break_h=0.5).person_hours == 3.0
    assert StintInput("mount", (0,), 10.0, 10.25, break_h=0.5).person_hours == 0


def test_sums_over_the_build():
    build = inputs(segments=(SegmentInput("A", 50, (50, 20, 0, 0)), SegmentInput("B", 200, (300, 0, 0, 0))))
    assert (build.pixels, build.passed(0), build.passed(1), build.units_left(1)) == (250, 250, 20, 230)
    assert build.usual_pixels == pytest.approx(100) and build.place == {"A": 0, "B": 1}  # √(50·200)
    assert inputs(segments=()).usual_pixels == 1.0


def test_all_is_done_when_segments_jobs_and_faults_are():
    done = finished(inputs())
    job = JobInput("Scaffold", 1, 2, 3)
    assert done.all_done and not inputs().all_done
    assert not replace(done, jobs=(job,)).all_done and replace(done, jobs=(replace(job, done=True),)).all_done
    faulty = replace(done, segments=(replace(done.segments[0], open_faults=2), *done.segments[1:]))
    assert faulty.faults_open == 2 and not faulty.all_done


def test_who_is_thought_of_stands_after_the_crew():
    added = replace(helper("More"), added=True)
    assert inputs(crew=(helper("Una"), added)).known == 1
    assert problems(crew=(added, helper("Una"))) == [("helpers", {})]


@pytest.mark.parametrize("as_of", [NAN, INF])
def test_the_moment_is_a_date(as_of):
    assert problems(as_of=as_of)[0][0] == "as_of"


def test_segments_and_jobs_are_there_once():
    twice = (*segments(2), *segments(1))
    assert problems(segments=twice) == [("segment", {"what": "segment", "name": "R1-1", "times": 2})]
    job = JobInput("Scaffold", 1, 2, 3)
    assert problems(jobs=(job, job)) == [("job", {"what": "job", "name": "Scaffold", "times": 2})]


@pytest.mark.parametrize(
    ("wrong", "field", "values"),
    [
        ({"pixels": 0}, "pixels", {"code": "A", "pixels": 0}),
        ({"done": (0, 0, -1, 0)}, "pixels", {"code": "A", "done": -1}),
        ({"assigned": 2}, "assigned", {"code": "A", "assigned": 2}),
        ({"assigned": -1}, "assigned", {"code": "A", "assigned": -1}),
        ({"hands": (1, 1, 0, 1)}, "hands", {"code": "A", "hands": (1, 1, 0, 1), "most": 8}),
        ({"hands": (1, 9, 1, 1)}, "hands", {"code": "A", "hands": (1, 9, 1, 1), "most": 8}),
    ],
)
def test_a_segment_that_makes_no_sense(wrong, field, values):
    assert problems(segments=(SegmentInput(**{"code": "A", "pixels": 9} | wrong),)) == [(field, values)]


def test_what_is_just_allowed_of_a_segment():
    assert inputs(segments=(SegmentInput("A", 1, assigned=1, hands=(8, 1, 1, 1)), SegmentInput("B", 1, assigned=0)))


def test_shifts_and_limits_of_a_helper():
    for shift in (ShiftInput(5.0, 4.0, 1), ShiftInput(NAN, 4.0, 1), ShiftInput(5.0, INF, 1)):
        assert problems(crew=(helper("Una", shifts=(shift,)),)) == [("end", {"helper": "Una"})]
    assert problems(crew=(helper("Una", populate_limit_h=-0.5),)) == [("", {"helper": "Una", "hours": -0.5})]
    assert problems(crew=(helper("Una", populate_limit_h=NAN),))
    assert inputs(crew=(helper("Una", shifts=(ShiftInput(5.0, 5.0, 1),), populate_limit_h=0.0),))


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"start": NOW, "end": NOW - 1}, "end"), ({"end": INF}, "end"), ({"helpers": ()}, "name"),
     ({"helpers": (2,)}, "name"), ({"helpers": (-1,)}, "name"), ({"pixels": -1}, "pixels"),
     ({"break_h": -0.1}, "pixels")],
)  # fmt: skip
def test_a_stint_that_makes_no_sense(wrong, field):
    assert problems(stints=(replace(stint("mount", "R1-1", 30), **wrong),)) == [(field, {"work": "mount"})]


def test_what_is_just_allowed_of_a_stint():
    assert inputs(stints=(StintInput("mount", (1,), NOW - 1, NOW - 1, 0),))


@pytest.mark.parametrize(
    ("job", "field"),
    [
        (JobInput("J", -1, 2, 3), "hours_low"),
        (JobInput("J", 3, 2, 4), "hours_low"),
        (JobInput("J", 1, 4, 3), "hours_low"),
        (JobInput("J", 1, 2, INF), "hours_low"),
        (JobInput("J", 1, 2, 3, hands=0), "hands"),
        (JobInput("J", 1, 2, 3, hands=9), "hands"),
        (JobInput("J", 1, 2, 3, after=("J",)), "after"),
        (JobInput("J", 1, 2, 3, after=("K",)), "after"),
    ],
)
def test_a_job_that_makes_no_sense(job, field):
    (problem,) = problems(jobs=(job,))
    assert problem[0] == field and problem[1]["job"] == "J"


def test_what_is_just_allowed_of_a_job():
    jobs = (JobInput("J", 0, 0, 0, hands=8, after=("mount", "K")), JobInput("K", 2, 2, 2))
    assert inputs(jobs=jobs).jobs == jobs


def test_limits_of_people_and_standard_rates():
    assert problems(people=(None, -1, None, None)) == [("people", {"stage": "mount", "limit": -1})]
    assert inputs(people=(0, None, 2, 2))
    for wrong in ({"wire": 0.0}, {"populate": -1.0}, {"spread": 0.0}, {"spread": 5.0}):
        assert problems(standard=StandardRates(**wrong)) == [("standard", {})]
    assert inputs(standard=StandardRates(spread=4.9)).standard.rate(2) == 6.0
    assert [StandardRates().rate(stage) for stage in range(4)] == [400, 350, 6, 15]


def test_all_problems_are_said_at_once():
    with pytest.raises(Refused) as refused:
        ForecastInput(NAN, (SegmentInput("A", 0),), (helper("Una", populate_limit_h=-1.0),))
    assert len(refused.value.problems) == 3
