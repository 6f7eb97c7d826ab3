"""What a helper can say with one entry: a tick, an undo, a stint begun, paused, ended or put right, a note."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any
from uuid import UUID

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.fields import Fields
from buildlog.core.work.localtime import LocalTime
from buildlog.core.work.stages import Stage

MOST_PIXELS = 100_000
MOST_HANDS = 20
LONGEST_BREAK_MIN = 24 * 60
LONGEST_CODE = 16
LONGEST_JOB = 60
LONGEST_NOTE = 400


class DeviceEntryKind(StrEnum):
    """What an entry is about."""

    TICK = "tick"
    UNDO = "undo"
    STINT_START = "stint-start"
    STINT_PAUSE = "stint-pause"
    STINT_RESUME = "stint-resume"
    STINT_STOP = "stint-stop"
    STINT_CORRECT = "stint-correct"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class TickEntry:
    segment: str
    stage: Stage
    pixels: int
    stint: UUID | None = None


@dataclass(frozen=True, slots=True)
class Undo:
    undoes: UUID


@dataclass(frozen=True, slots=True)
class StintStart:
    stint: UUID
    stage: Stage | None
    job: str | None
    segment: str | None
    companions: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class StintMark:
    """A pause, a resume or a stop, by the entry's kind."""

    stint: UUID


@dataclass(frozen=True, slots=True)
class StintCorrect:
    """New times, on the build's own clock; in the doubled hour with the choice of first or second."""

    stint: UUID
    start: LocalTime
    end: LocalTime
    rest: timedelta


@dataclass(frozen=True, slots=True)
class NoteLeft:
    segment: str
    says: str


DeviceEntry = TickEntry | Undo | StintStart | StintMark | StintCorrect | NoteLeft


def read_device_entry(kind: DeviceEntryKind, data: Mapping[str, Any]) -> DeviceEntry:
    """What the entry's data say. Raises Refused when they are not what this kind of entry holds."""
    return READERS[kind](data)


def _tick(data: Mapping[str, Any]) -> TickEntry:
    fields = Fields.of(data, "tick", needed={"segment", "stage", "pixels"}, optional={"stint"})
    return TickEntry(
        segment=fields.text("segment", LONGEST_CODE),
        stage=fields.choice("stage", Stage),
        pixels=fields.whole("pixels", 1, MOST_PIXELS),
        stint=fields.optional_uuid("stint"),
    )


def _undo(data: Mapping[str, Any]) -> Undo:
    return Undo(Fields.of(data, "undo", needed={"undoes"}).uuid("undoes"))


def _start(data: Mapping[str, Any]) -> StintStart:
    fields = Fields.of(data, "stint", needed={"stint"}, optional={"stage", "job", "segment", "with"})
    stage = None if fields.optional_text("stage", 10) is None else fields.choice("stage", Stage)
    job = fields.optional_text("job", LONGEST_JOB)
    if (stage is None) == (job is None):
        raise Refused(Problem(_("A stint is on one stage or on one job: name one of the two.")))
    return StintStart(
        fields.uuid("stint"), stage, job, fields.optional_text("segment", LONGEST_CODE), _companions(fields)
    )


def _companions(fields: Fields) -> tuple[int, ...]:
    if fields.values.get("with") is None:
        return ()
    numbers = fields.listing("with", MOST_HANDS)
    if any(type(number) is not int or not 0 < number < 2**63 for number in numbers):
        raise Refused(Problem(_("The stint names its helpers by number: with = [1, 2].")))
    return tuple(dict.fromkeys(numbers))


def _mark(data: Mapping[str, Any]) -> StintMark:
    return StintMark(Fields.of(data, "stint", needed={"stint"}).uuid("stint"))


def _correct(data: Mapping[str, Any]) -> StintCorrect:
    fields = Fields.of(
        data, "correction", needed={"stint", "start", "end"}, optional={"break_min", "start_fold", "end_fold"}
    )
    return StintCorrect(
        stint=fields.uuid("stint"),
        start=_local(fields, "start"),
        end=_local(fields, "end"),
        rest=timedelta(minutes=fields.optional_whole("break_min", 0, LONGEST_BREAK_MIN) or 0),
    )


def _local(fields: Fields, name: str) -> LocalTime:
    text = fields.text(name, 40)
    fold = fields.optional_whole(f"{name}_fold", 0, 1)
    try:
        read = datetime.fromisoformat(text)
    except ValueError:
        read = None
    if read is None or len(text) < len("2026-05-02T09:00") or not 1970 <= read.year < 9999:
        raise Refused(Problem(_("{text!r} is not a time: write it like 2026-05-02 09:00."), name, text=text))
    return LocalTime(read, fold)


def _note(data: Mapping[str, Any]) -> NoteLeft:
    fields = Fields.of(data, "note", needed={"segment", "says"})
    return NoteLeft(fields.text("segment", LONGEST_CODE), fields.text("says", LONGEST_NOTE))


READERS: Mapping[DeviceEntryKind, Callable[[Mapping[str, Any]], DeviceEntry]] = {
    DeviceEntryKind.TICK: _tick,
    DeviceEntryKind.UNDO: _undo,
    DeviceEntryKind.STINT_START: _start,
    DeviceEntryKind.STINT_PAUSE: _mark,
    DeviceEntryKind.STINT_RESUME: _mark,
    DeviceEntryKind.STINT_STOP: _mark,
    DeviceEntryKind.STINT_CORRECT: _correct,
    DeviceEntryKind.NOTE: _note,
}
