"""Every fact has its words; numbers and names in them are those of the fact."""

import pytest

from buildlog.core.forecast.result.document.coding import Fact
from buildlog.core.forecast.result.document.target import HelpersStep
from buildlog.core.forecast.result.fact_words import BLOCKS, PHRASES, SAYS
from buildlog.core.forecast.result.sentences import (
    day_words,
    idle,
    limits,
    phrase,
    reason,
    sentence,
    waits_for,
    who,
)
from buildlog.core.wording import Sentence
from tests.core.forecast.result.test_track_record import report
from tests.core.forecast.small import words

NO_CREW, ALONE = Fact("no_helpers"), {"stage": "mount", "job": None}
ROOM = Fact("held_by_room", {"stage": "wire", "fit": 2, "otherwise": "days"})
SURE = {"day": "2026-06-12", "percent": 71, "hand_over": False}
READY = Fact("plan_ready", {"day": "2026-06-12"})


def assigned(segments: int, helpers: int, ends: str | None, ended: str) -> Fact:
    counts = {"segments": segments, "helpers": helpers, "day": "2026-06-12"}
    return Fact("assigned", counts | {"ends": ends, "ended": ended}, (READY,))


@pytest.mark.parametrize(
    ("fact", "says"),
    [
        (
            Fact("no_skill", {"stages": ["wire", "test"]}),
            "Nobody has the skill to wire or test, and there is work for it: show somebody how.",
        ),
        (
            Fact("too_little_room", {"stage": "mount", "needed": 2, "limit": 1}),
            "A segment needs 2 helpers to mount, but only 1 fit: change one of the two.",
        ),
        (
            Fact("too_few_able", {"needed": 2, "able": 1, "stage": None, "job": "Box"}),
            "Box needs 2 helpers to do Box, and 1 can: show one more how.",
        ),
        (
            Fact("nobody_able_comes", ALONE),
            "Nobody who can mount is down for a shift from now on: ask one of them to come.",
        ),
        (
            Fact("jobs_in_a_circle", {"jobs": ["Box", "Paint"]}),
            "These jobs wait for each other and can never begin: Box, Paint. Take one 'after' away.",
        ),
        (
            Fact("stints_unconfirmed", {"stints": 1}),
            "1 stint is still to be confirmed and left out of the rates: look at them under Hours.",
        ),
        (
            Fact("stints_unconfirmed", {"stints": 2}),
            "2 stints are still to be confirmed and left out of the rates: look at them under Hours.",
        ),
        (
            Fact("hours_missing", {"hours": 0.4}),
            "The shifts noted are not enough: about 1 person-hour is missing. Add shifts or helpers under Crew.",
        ),
        (
            Fact("hours_missing_at_times", {"hours": 12, "percent": 7}),
            "In 7 of 100 trials the build does not end within the known availability: about 12 person-hours are "
            "missing then. Add shifts or helpers under Crew.",
        ),
        (
            Fact("ready_by", {"day": "2026-06-12", "hours": 1}),
            "Ready by Fri 12 June 2026, 80 % sure; 1 person-hour to go.",
        ),
        (
            Fact("no_date", {"hours": 9}, (NO_CREW, Fact("no_populating"))),
            "No date can be given: there are no helpers yet and nobody may populate, everybody's limit being 0 h "
            "a day; 9 person-hours to go.",
        ),
        (
            Fact("hardly_sure", {"percent": 60, "known_to": "2026-06-12", "hours": 90, "to_find": 30}),
            "Only 60 % sure to be ready within the known availability (to Fri 12 June 2026); 90 person-hours to "
            "go, about 30 of them still to find.",
        ),
        (
            Fact("not_in_time", {"known_to": "2026-06-12", "hours": 90, "to_find": None}),
            "Not ready within the known availability (to Fri 12 June 2026); 90 person-hours to go, all still to "
            "find.",
        ),
        (
            Fact("plan_stopped", parts=(NO_CREW,)),
            "It does not end like this: there are no helpers yet. There are no helpers yet: enter the crew, then "
            "the forecast has a date.",
        ),
        (
            Fact("plan_unfinished", {"known_to": None}),
            "Going on like this it is not ready within the shifts noted: add shifts or helpers under Crew.",
        ),
        (
            Fact("plan_unfinished", {"known_to": "2026-06-12"}),
            "Going on like this it is not ready within the shifts noted (to Fri 12 June 2026): add shifts or "
            "helpers under Crew.",
        ),
        (
            Fact("nothing_to_assign", parts=(READY,)),
            "There is nothing to hand out. Going on like this it is ready on Fri 12 June 2026.",
        ),
        (
            Fact("all_assigned", {"day": "2026-06-12"}),
            "Nothing is left to hand out for Fri 12 June: what is worked on then is somebody's already.",
        ),
        (
            assigned(1, 2, "2026-06-13", "2026-06-14"),
            "1 segment for 2 helpers on Fri 12 June. With it the day plan ends on Sat 13 June 2026, without on "
            "Sun 14 June 2026.",
        ),
        (
            assigned(3, 1, "2026-06-13", "2026-06-13"),
            "3 segments for 1 helper on Fri 12 June. With it the day plan ends on Sat 13 June 2026.",
        ),
        (
            assigned(3, 1, None, "2026-06-13"),
            "3 segments for 1 helper on Fri 12 June. Going on like this it is ready on Fri 12 June 2026.",
        ),
        (
            Fact("stopped", {"nobody_there": True}, (NO_CREW,)),
            "There are no helpers yet: enter the crew, then the forecast has a date. Extra hands are counted at "
            "the times when the crew comes.",
        ),
        (
            Fact("stopped", {"nobody_there": False}, (NO_CREW,)),
            "No number of extra hands helps as things stand. There are no helpers yet: enter the crew, then the "
            "forecast has a date.",
        ),
        (
            Fact("enough_already", SURE | {"hand_over": True}),
            "Nothing more is needed: Fri 12 June 2026 is 71 % sure if begun segments are handed over to whoever "
            "is there.",
        ),
        (
            Fact("enough_with", SURE | {"hours": 12, "helpers": 1, "skills": ["wire", "test"]}),
            "12 person-hours more by Fri 12 June 2026, from one more helper who can wire and test, make it 71 % "
            "sure.",
        ),
        (
            Fact("enough_with", SURE | {"hours": 12, "helpers": 2, "skills": []}),
            "12 person-hours more by Fri 12 June 2026, from 2 more helpers, make it 71 % sure.",
        ),
        (
            Fact("not_enough", SURE | {"hours": 0, "helpers": 0, "skills": [], "most": 12, "wanted": 80}, (ROOM,)),
            "No number of extra hands up to 12 at a time brings Fri 12 June 2026 to 80 %: it stays at 71 %. "
            "Wiring holds it up: only 2 fit at once. Let more in if that is safe, or add days under Crew.",
        ),
        (
            Fact("not_enough", SURE | {"hours": 9, "helpers": 11, "skills": [], "most": 12, "wanted": 80}, (ROOM,)),
            "No number of extra hands up to 12 at a time brings Fri 12 June 2026 to 80 %: 9 person-hours more, "
            "from 11 more helpers, make it 71 %, and others beside them hardly help. Wiring holds it up: only 2 "
            "fit at once. Let more in if that is safe, or add days under Crew.",
        ),
        (
            Fact("not_enough", SURE | {"hours": 9, "helpers": 12, "skills": [], "most": 12, "wanted": 80}, (ROOM,)),
            "No number of extra hands up to 12 at a time brings Fri 12 June 2026 to 80 %: 9 person-hours more, "
            "from 12 more helpers, make it 71 %. Wiring holds it up: only 2 fit at once. Let more in if that is "
            "safe, or add days under Crew.",
        ),
        (
            Fact("held_by_jobs", {"percent": 60, "otherwise": "days_or_target"}),
            "Jobs hold it up, in 60 of 100 trials: they take as long however many come. Begin them sooner, or "
            "add days, or move the target.",
        ),
        (
            Fact("days_are_short", {"hours": 7.6, "days": 1, "otherwise": "days"}),
            "The crew is there for 8 h on 1 day before it: add days under Crew.",
        ),
    ],
)  # fmt: skip
def test_what_is_said(fact, says):
    assert words(fact) == says


def test_a_fact_is_a_template_and_its_values_in_whatever_language():
    said = sentence(Fact("enough_with", SURE | {"hours": 12, "helpers": 1, "skills": ["wire"]}))
    assert said.template == "{person_hours} more by {day}, from {people}, make it {percent} % sure{over}."
    assert said.values["percent"] == 71 and said.values["person_hours"].number == 12
    german = {"Fri": "Fr", "June": "Juni", "{weekday} {day} {month}": "{weekday}, {day}. {month}"}
    assert "by Fr, 12. Juni 2026, from" in said.said(lambda text: german.get(text, text), lambda one, many, n: many)


def test_every_block_is_a_reason_too_and_no_code_has_two_sentences():
    assert PHRASES.keys() == BLOCKS.keys()
    assert str(phrase(Fact("too_few_able", {"needed": 2, "able": 1, "stage": "mount", "job": None}))) == (
        "it takes 2 to mount, and never so many who can are there at once"
    )
    assert str(phrase(Fact("nobody_able_comes", ALONE))) == "nobody who can mount is down for a shift"
    assert "all_done" in SAYS and "held_by_room" in SAYS


def test_what_the_finish_waits_for_comes_most_often_first_and_never_as_nothing():
    assert str(waits_for(report(1, 0.1))) == "" and limits(report(1, 0.1)) == ()
    shares = [{"stage": "wire", "share": 0.714}, {"stage": "jobs", "share": 0.28}, {"stage": "test", "share": 0.004}]
    seen = report(1, 0.1, limits=shares)
    assert waits_for(seen).values == {"work": Sentence("wiring"), "percent": 71}
    assert str(waits_for(seen)) == "The finish waits for wiring in 71 of 100 trials."
    assert limits(seen) == ((Sentence("wiring"), 71), (Sentence("a job"), 28))
    assert reason("Scaffold") == Sentence("Scaffold")


def test_what_helpers_stand_by_for():
    seen = report(1, 0.1, waits={"wire": 0.5, "open": 3.0, "limit": 2.0, "test": 0.49})
    assert [(str(what), hours) for what, hours in idle(seen)] == [
        ("work that is not open yet", 3.0), ("the next day, populate hours being used up", 2.0), ("room at wire", 0.5),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("step", "says"),
    [
        (HelpersStep(3, 1, 0.7), "1 more helper"),
        (HelpersStep(3, 2, 0.7), "2 more helpers"),
        (HelpersStep(0, 0, 0.7), "nobody more"),
        (HelpersStep(0, 0, 0.7, True), "nobody more, begun segments handed over"),
    ],
)
def test_who_comes(step, says):
    assert str(who(step)) == says


def test_a_day_is_said_with_its_weekday():
    assert str(day_words("2026-06-02")) == "Tue 2 June 2026"
