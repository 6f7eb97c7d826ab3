"""Whoever waits begins as soon as there is something for them: hands, room, or what others have put down.

One trial without chance; a unit takes a minute, so a segment of 60 pixels takes an hour to populate or mount.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from buildlog.core.forecast.input import (
    MOST_HANDS,
    ForecastInput,
    Helper,
    JobInput,
    RunInput,
    SegmentInput,
    ShiftInput,
)
from buildlog.core.forecast.simulate.records import TEAM
from tests.published.engine import Played, given, played

DAY = 719163


def helper(name: str, skills: str, *spells: tuple[float, float]) -> Helper:
    shifts = tuple(ShiftInput(begin, end, DAY) for begin, end in spells or [(0.0, 1000.0)])
    return Helper(name, frozenset(skills.split()), None, shifts)


def segment(number: int, pixels: int = 60, done: tuple[int, int, int, int] = (0, 0, 0, 0), **also) -> SegmentInput:
    return SegmentInput(f"S{number}", pixels, done, (RunInput(1, number, pixels),), number, **also)


def play(
    *crew: Helper, segments: tuple[SegmentInput, ...] = (), jobs: tuple[JobInput, ...] = (), people=(None,) * 4
) -> Played:
    inputs = ForecastInput(0.0, segments, crew, jobs=jobs, people=people)
    return played(inputs, given(inputs, np.full((len(crew), 4), 1 / 60)))


def job(name: str, hours: float, hands: int = 1) -> JobInput:
    return JobInput(name, hours, hours, hours, hands)


def test_a_job_put_down_as_a_shift_ends_goes_to_whoever_waits():
    una, ivo = helper("Una", "box", (0.0, 2.0), (100.0, 102.0)), helper("Ivo", "box", (1.0, 9.0))
    assert play(una, ivo, jobs=(job("box", 3.0),)).finish == pytest.approx(3.0)


def test_a_segment_for_two_that_is_handed_to_one_begins_as_the_second_comes():
    una, ivo = helper("Una", "mount"), helper("Ivo", "mount", (5.0, 9.0))
    own = segment(1, 60, (60, 0, 60, 60), assigned=0, hands=(1, 2, 1, 1))
    assert play(una, ivo, segments=(own,)).finish == pytest.approx(5.5)


def test_a_segment_for_two_does_not_hold_up_another_of_ones_own_for_one():
    una = helper("Una", "mount")
    long = segment(1, 60, (60, 0, 60, 60), assigned=0, hands=(1, 2, 1, 1))
    other = segment(2, 60, (60, 0, 60, 60), assigned=0)
    ivo = helper("Ivo", "mount", (5.0, 9.0))
    done = play(una, ivo, segments=(long, other))
    assert done.of("S2") == pytest.approx((0.0, 1.0)) and done.of("S1") == pytest.approx((5.0, 5.5))


def test_a_segment_for_two_waits_for_room_for_two_and_the_trial_ends():
    """One is in there already: there is room for one more, not for two."""
    una, ivo, eva = (helper(name, "mount") for name in ("Una", "Ivo", "Eva"))
    alone = segment(1, 60, (60, 0, 60, 60), assigned=0)
    two = segment(2, 60, (60, 0, 60, 60), assigned=1, hands=(1, 2, 1, 1))
    done = play(una, ivo, eva, segments=(alone, two), people=(None, 2, None, None))
    assert done.of("S2") == pytest.approx((1.0, 1.5))


def test_two_jobs_for_two_go_on_side_by_side():
    crew = [helper(name, "box frame") for name in ("Una", "Ivo", "Eva", "Jan")]
    assert play(*crew, jobs=(job("box", 4.0, 2), job("frame", 4.0, 2))).finish == pytest.approx(2.0)


def test_those_who_wait_for_hands_at_one_job_do_not_hold_up_another():
    """Una waits for Ivo at the box; the frame is for Eva and Jan, who looked while hands were called to the box."""
    una, ivo = helper("Una", "box", (0.2, 9.0)), helper("Ivo", "box populate", (0.0, 9.0))
    eva, jan = helper("Eva", "frame", (0.5, 9.0)), helper("Jan", "frame", (0.5, 9.0))
    begun = segment(1, 60, (0, 60, 60, 60), assigned=1)
    done = play(una, ivo, eva, jan, segments=(begun,), jobs=(job("box", 2.0, 2), job("frame", 2.0, 2)))
    assert done.of("box") == done.of("frame") == pytest.approx((1.0, 2.0))


def test_much_that_opens_for_one_helper_at_once_makes_nobody_else_idle():
    """Forty tests of Una's open as Ivo wires the first segment: Ivo populates on without a pause."""
    una, ivo = helper("Una", "test"), helper("Ivo", "wire populate")
    chain = [segment(n, 60, (60, 60, 0 if n == 1 else 60, 0), assigned=0) for n in range(1, 41)]
    more = SegmentInput("S99", 60, (0, 60, 60, 60))
    done = play(una, ivo, segments=(*chain, replace(more, ring=99)))
    assert done.of("S99")[0] == max(chunk.end for chunk in done.chunks if chunk.work == "wire")


def test_a_door_in_the_middle_does_not_hold_up_a_crew_that_keeps_to_the_order():
    """Its test comes after all others: nobody waits for it in its place."""
    una = helper("Una", "populate mount wire test")
    door = tuple(segment(n, 60, closing=n == 2) for n in range(1, 5))
    inputs = ForecastInput(0.0, door, (una,))
    draws = given(inputs, np.full((1, 4), 1 / 60))
    draws.once["in_order"] = True
    done = played(inputs, draws)
    assert done.finish == pytest.approx(8 + 8 / 60)
    assert max(done.chunks, key=lambda chunk: chunk.end).segment == "S2"


def test_a_team_is_as_large_as_an_input_may_ask_for():
    crew = [helper(f"Helper {n}", "box", (float(n), 1000.0)) for n in range(MOST_HANDS)]
    done = play(*crew, jobs=(job("box", 8.0, MOST_HANDS),))
    assert done.finish == pytest.approx(MOST_HANDS - 1 + 8.0 / MOST_HANDS), "all wait for the last one"
    assert MOST_HANDS <= TEAM, "who gathers for one kind of work must not be written over those for another"
