"""Whatever a build is like, the forecast answers with a sentence: no NaN, no date that nobody can know."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from buildlog.core.errors import Refused
from buildlog.core.forecast.input import ForecastInput, JobInput
from buildlog.core.forecast.questions.day_plan import day_plan
from buildlog.core.forecast.result.document.coding import encode, printed
from buildlog.core.forecast.result.forecast import Forecast, forecast
from tests.core.forecast.small import NOW, finished, helper, inputs, segments, shifts, stint, words

ALL = ("populate", "mount", "wire", "test")


def seen(of: ForecastInput, trials: int = 60) -> Forecast:
    found = forecast(of, trials=trials, seed=1)
    _numbers_only(printed(found.document(), words))
    json.dumps(printed(found.document(), words), allow_nan=False)
    assert words(found.headline).endswith(".") and len(words(found.headline)) > 20
    assert day_plan(of).finish is None or math.isfinite(day_plan(of).finish)
    return found


def _numbers_only(value: Any) -> None:
    if isinstance(value, dict):
        for inner in value.values():
            _numbers_only(inner)
    elif isinstance(value, list):
        for inner in value:
            _numbers_only(inner)
    elif isinstance(value, float):
        assert math.isfinite(value)


def no_date(found: Forecast) -> bool:
    return found.never == 1.0 and all(found.document().finish.at(cut) is None for cut in (10, 50, 80, 90, 95))


def test_without_stints_it_rests_on_the_standard_rates():
    found = seen(inputs())
    assert found.finish_at(80) is not None
    assert any("standard rates" in words(warning) for warning in found.warnings)
    by_hand = 8 * (100 / 400 + 100 / 350 + 1 / 6 + 1 / 15)
    assert found.hours_at(50) == pytest.approx(by_hand, rel=0.25)


def test_one_stint_is_enough_to_learn_a_little():
    found = seen(inputs(stints=(stint("populate", "R1-1", 30),), segments=segments(8)))
    assert printed(found.document(), words)["rates"]["populate"]["helpers"]["Una"]["stints"] == 1


def test_one_helper_does_it_alone():
    found = seen(inputs(crew=(helper("Una"),)))
    assert found.never < 0.05


def test_nobody_in_the_crew_gives_no_date():
    found = seen(inputs(crew=()))
    assert no_date(found)
    assert words(found.headline) == "No date can be given: there are no helpers yet; 7 person-hours to go."
    assert any("enter the crew" in words(warning) for warning in found.warnings)
    by_hand = 8 * (100 / 400 + 100 / 350 + 1 / 6 + 1 / 15)
    assert found.hours_at(50) == pytest.approx(by_hand, rel=0.25), "hours to go do not need anybody to be there"
    assert printed(found.document(), words)["rates"]["populate"]["crew"]["p50"] == pytest.approx(400, rel=0.15)


def test_nobody_down_for_a_shift_gives_no_date():
    found = seen(inputs(crew=(helper("Una", shifts=()),)))
    assert no_date(found) and any("shift" in words(warning) for warning in found.warnings)
    assert "nobody has said when they can come" in words(found.headline)


def test_only_shifts_that_are_over_give_no_date():
    found = seen(inputs(crew=(helper("Una", shifts=shifts(5, first=-9)),)))
    assert no_date(found)


def test_all_done_says_so():
    found = seen(finished(inputs()))
    assert "Everything is done" in words(found.headline)
    assert found.hours_at(90) == 0 and found.never == 0
    assert found.finish_at(95) == NOW


def test_no_segments_at_all_is_all_done():
    assert "done" in words(seen(inputs(segments=())).headline)


def test_a_helper_without_skills_left_alone_never_ends():
    found = seen(inputs(crew=(helper("Una", skills=frozenset()),)))
    assert no_date(found)
    assert "Nobody has the skill to populate, mount, wire or test, and there is work for it: show somebody how." in (
        [words(warning) for warning in found.warnings]
    )
    assert "nobody has the skill" in words(found.headline) and "still to find" not in words(found.headline)
    assert not any("Add shifts" in words(warning) for warning in found.warnings), "shifts are not what is missing"


def test_a_missing_skill_is_named():
    found = seen(inputs(crew=(helper("Una", skills=frozenset(ALL) - {"wire"}),)))
    assert no_date(found)
    assert any("wire" in words(warning) for warning in found.warnings)


def test_availability_that_ends_too_early_says_how_many_hours_are_missing():
    found = seen(inputs(number=40, crew=(helper("Una", days=1),)))
    assert no_date(found)
    assert "Not ready within the known availability" in words(found.headline)
    assert found.missing_hours == pytest.approx(found.hours_at(50) - 8, abs=4)


def test_availability_that_may_not_be_enough_gives_the_odds():
    of = inputs(number=10, crew=(helper("Una", days=1),))
    found = seen(of, trials=400)
    assert 0 < found.never < 1
    assert any("missing" in words(warning) for warning in found.warnings)


def test_a_target_in_the_past_has_probability_0():
    found = seen(inputs(target=NOW - 24))
    assert printed(found.document(), words)["target"]["probability"] == 0
    assert any("target has passed" in words(warning) for warning in found.warnings)


def test_stints_of_zero_length_or_zero_pixels_teach_no_rate():
    odd = (stint("populate", "R1-1", 0), stint("mount", "R1-1", 0, pixels=0), stint("wire", "", 20, pixels=0))
    found = seen(inputs(stints=odd))
    assert not found.learned.observations.efforts or all(found.learned.stages[0].weights == 1)
    assert found.finish_at(80) is not None


def test_a_stage_with_limit_0_never_ends_and_is_named():
    found = seen(inputs(people=(None, None, 0, 2)))
    assert no_date(found)
    assert any("Nobody may wire" in words(warning) for warning in found.warnings)
    assert "nobody may wire, the limit of people there being 0" in words(found.headline)


def test_more_hands_than_there_are_never_ends_and_is_named():
    found = seen(inputs(crew=(helper("Una"),), segments=segments(4, hands=(1, 2, 1, 1))))
    assert no_date(found)
    assert any("2 helpers to mount, and 1 can: show one more how" in words(warning) for warning in found.warnings)


def test_two_who_are_never_there_together_never_lift_a_segment_of_two():
    apart = (helper("Una", shifts=shifts(20)), helper("Ivo", shifts=shifts(20, begin=17, end=21)))
    found = seen(inputs(crew=apart, segments=segments(4, hands=(1, 2, 1, 1))))
    assert no_date(found)
    assert any("never so many of those who can are there at once" in words(warning) for warning in found.warnings)


def test_a_job_that_only_somebody_away_can_do_never_ends_and_is_named():
    away = (helper("Una"), helper("Ivo", skills=frozenset({"Box"}), shifts=()))
    found = seen(inputs(crew=away, jobs=(JobInput("Box", 1, 2, 3),)))
    assert no_date(found)
    assert any("Nobody who can do Box is down for a shift" in words(warning) for warning in found.warnings)


def test_what_is_still_to_find_is_never_more_than_what_is_to_go():
    found = seen(inputs(number=40, crew=(helper("Una", days=1, shifts=shifts(1, begin=9, end=9.1)),)))
    assert no_date(found) and words(found.headline).endswith("to go, all still to find.")


def test_more_hands_than_fit_never_ends_and_is_named():
    found = seen(inputs(people=(None, 1, 2, 2), segments=segments(4, hands=(1, 2, 1, 1))))
    assert no_date(found) and any("only 1 fit" in words(warning) for warning in found.warnings)


def test_a_populate_limit_of_0_never_ends_and_is_named():
    found = seen(inputs(crew=(helper("Una", populate_limit_h=0.0),)))
    assert no_date(found) and any("populate limit is 0" in words(warning) for warning in found.warnings)


def test_jobs_in_a_circle_never_end_and_are_named():
    jobs = (JobInput("Frame", 1, 2, 3, after=("Paint",)), JobInput("Paint", 1, 2, 3, after=("Frame",)))
    found = seen(inputs(jobs=jobs))
    assert no_date(found) and any("Frame, Paint" in words(warning) for warning in found.warnings)


def test_only_closing_segments_end_too():
    assert seen(inputs(segments=segments(4, closing=True))).never < 0.05


def test_a_segment_without_a_channel_is_worked_on_all_the_same():
    assert seen(inputs(segments=segments(4, runs=()))).never < 0.05


def test_the_rest_of_a_shift_that_has_begun_counts():
    of = replace(inputs(number=1, crew=(helper("Una", days=1),)), as_of=NOW + 9)  # one hour of eight is left
    assert seen(of, trials=200).never < 1


@pytest.mark.parametrize("trials", [0, -3, 1_000_000])
def test_a_number_of_trials_outside_the_limits_is_refused(trials):
    with pytest.raises(Refused, match="trials"):
        forecast(inputs(), trials=trials, seed=1)


def test_the_same_input_gives_the_same_bytes_and_other_seeds_do_not():
    def said(seed: int) -> str:
        return json.dumps(encode(forecast(inputs(), trials=300, seed=seed).document()))

    assert said(1) == said(1)
    assert said(1) != said(2)


def test_hours_missing_are_said_by_how_often_they_are():
    """Trials put in place: all end, one of two does, none does."""
    ends = seen(inputs(2), trials=2)
    assert ends.never == 0 and ends.missing_hours == 0 and not any("missing" in f.code for f in ends.warnings)
    half = replace(ends, finish=np.array([1.0, np.inf]), missing=np.array([99.0, 7.5]))
    assert (half.never, half.missing_hours) == (0.5, 7.5)
    assert half.warnings[-1].code == "hours_missing_at_times"
    assert half.warnings[-1].values == {"hours": 7.5, "percent": 50} and half.blocks == ()
    assert half.headline.code == "hardly_sure" and half.headline.values["percent"] == 50
    none = replace(ends, finish=np.array([np.inf, np.inf]), missing=np.array([5.0, 7.0]))
    assert none.warnings[-1].values == {"hours": 6.0} and none.headline.code == "not_in_time"
