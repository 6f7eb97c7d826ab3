"""What an entry of a device says, by its kind, and what it may not say."""

from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest

from buildlog.core.errors import Refused
from buildlog.core.work.deeds import (
    DeviceEntryKind,
    NoteLeft,
    StintCorrect,
    StintMark,
    StintStart,
    TickEntry,
    Undo,
    read_device_entry,
)
from buildlog.core.work.localtime import LocalTime
from buildlog.core.work.stages import Stage

ID = str(uuid4())
TICK = {"segment": "R1-1", "stage": "mount", "pixels": 40}
START = {"stint": ID, "stage": "mount"}
CORRECT = {"stint": ID, "start": "2026-05-02T09:00", "end": "2026-05-02 17:30"}


def read(kind, **data):
    return read_device_entry(DeviceEntryKind(kind), data)


def refusal(kind, **data):
    with pytest.raises(Refused) as refused:
        read(kind, **data)
    (problem,) = refused.value.problems
    return problem


def test_a_tick_says_segment_stage_and_pixels():
    assert read("tick", **TICK) == TickEntry("R1-1", Stage.MOUNT, 40)
    assert read("tick", **TICK, stint=ID).stint == UUID(ID)


@pytest.mark.parametrize("pixels", [1, 100_000])
def test_a_tick_of_one_pixel_and_of_most(pixels):
    assert read("tick", **TICK | {"pixels": pixels}).pixels == pixels


@pytest.mark.parametrize(
    ("wrong", "name"),
    [({"pixels": 0}, "pixels"), ({"pixels": 100_001}, "pixels"), ({"stage": "paint"}, "stage"),
     ({"segment": "R" * 17}, "segment"), ({"stint": "x"}, "stint")],
)  # fmt: skip
def test_a_tick_that_is_none_is_refused_by_its_field(wrong, name):
    assert refusal("tick", **TICK | wrong).sentence.values["name"] == name


def test_the_longest_code_is_read():
    assert read("tick", **TICK | {"segment": "R" * 16}).segment == "R" * 16


def test_an_undo_names_what_it_undoes():
    assert read("undo", undoes=ID) == Undo(UUID(ID))
    assert refusal("undo").sentence.values["names"] == "undoes"


def test_a_stint_is_on_a_stage_or_on_a_job():
    assert read("stint-start", **START) == StintStart(UUID(ID), Stage.MOUNT, None, None)
    job = read("stint-start", stint=ID, job="Scaffold", segment="R1-1")
    assert (job.stage, job.job, job.segment) == (None, "Scaffold", "R1-1")
    for neither_or_both in ({"stint": ID}, {"stint": ID, "stage": ""}, START | {"job": "Scaffold"}):
        says = refusal("stint-start", **neither_or_both).sentence.template
        assert says == "A stint is on one stage or on one job: name one of the two."


def test_companions_are_numbers_each_once():
    assert read("stint-start", **START, **{"with": [3, 1, 3]}).companions == (3, 1)
    assert read("stint-start", **START, **{"with": None}).companions == ()
    assert read("stint-start", **START, **{"with": [2**63 - 1]}).companions == (2**63 - 1,)
    assert len(read("stint-start", **START, **{"with": list(range(1, 21))}).companions) == 20


@pytest.mark.parametrize("companions", [[0], [-1], [True], ["1"], [1.0], [2**63]])
def test_companions_that_are_no_numbers_of_people(companions):
    says = refusal("stint-start", **START, **{"with": companions}).sentence.template
    assert says.startswith("The stint names its helpers by number")


def test_no_more_companions_than_a_crew_has():
    problem = refusal("stint-start", **START, **{"with": list(range(1, 22))})
    assert problem.sentence.values["allowed"] == "a list of at most 20"


@pytest.mark.parametrize("kind", ["stint-pause", "stint-resume", "stint-stop"])
def test_a_mark_names_its_stint_alone(kind):
    assert read(kind, stint=ID) == StintMark(UUID(ID))
    assert refusal(kind, stint=ID, stage="mount").sentence.values["names"] == "stage"


def test_a_correction_has_new_times_and_a_break():
    assert read("stint-correct", **CORRECT, break_min=30, end_fold=1) == StintCorrect(
        UUID(ID), LocalTime(datetime(2026, 5, 2, 9)), LocalTime(datetime(2026, 5, 2, 17, 30), 1), timedelta(minutes=30)
    )
    assert read("stint-correct", **CORRECT).rest == timedelta(0)
    assert read("stint-correct", **CORRECT, break_min=24 * 60).rest == timedelta(days=1)


@pytest.mark.parametrize("wrong", [{"break_min": 24 * 60 + 1}, {"break_min": -1}, {"start_fold": 2}])
def test_a_correction_that_is_none(wrong):
    assert refusal("stint-correct", **CORRECT | wrong).sentence.values["name"] == next(iter(wrong))


@pytest.mark.parametrize("text", ["2026-05-02", "soon", "2026-05-02T25:00", "1969-12-31T09:00", "9999-01-01T00:00"])
def test_a_time_that_is_none_is_refused_beside_its_field(text):
    problem = refusal("stint-correct", **CORRECT | {"end": text})
    assert problem.field == "end" and problem.sentence.values == {"text": text}


@pytest.mark.parametrize("text", ["1970-01-01T00:00", "9998-12-31T23:59"])
def test_the_first_and_the_last_year_are_read(text):
    assert read("stint-correct", **CORRECT | {"end": text}).end == LocalTime(datetime.fromisoformat(text))


def test_a_note_says_something_of_a_segment():
    assert read("note", segment="R1-1", says=" A clip is loose ") == NoteLeft("R1-1", "A clip is loose")
    assert read("note", segment="R1-1", says="x" * 400).says == "x" * 400
    assert refusal("note", segment="R1-1", says="x" * 401).sentence.values["name"] == "says"


def test_jobs_have_names_of_sixty_letters():
    assert read("stint-start", stint=ID, job="x" * 60).job == "x" * 60
    assert refusal("stint-start", stint=ID, job="x" * 61).sentence.values["name"] == "job"
