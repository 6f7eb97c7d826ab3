"""The kinds of table a lead loads, each read into rows with every problem found on the way."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar
from zoneinfo import ZoneInfo

from buildlog.core import cells
from buildlog.core.errors import Problem, Unreadable
from buildlog.core.forecast.input import MOST_HANDS
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.wording import Sentence, _
from buildlog.core.work.rows import CrewRow, JobRow, Numbered, PatternRow, Reading, ShiftRow, StintRow
from buildlog.core.work.stages import STAGES
from buildlog.files.sheet import Sheet, SheetRow, read

Made = TypeVar("Made")
T = TypeVar("T", bound=Numbered)
Part = TypeVar("Part")

MOST_PROBLEMS = 500  # more than anybody reads at once
ROLES = ("lead", "helper", "viewer")


class Cells:
    """Takes the cells of one row, and keeps a problem for each that cannot be taken."""

    def __init__(self, row: SheetRow, problems: list[Problem]) -> None:
        self.row, self.problems, self.fine = row, problems, True

    def take(self, column: str, parse: Callable[[str], Part], default: Part) -> Part:
        """The parsed cell; the default where it is empty or wrong."""
        return self._parsed(column, parse, default) if self.row[column] else default

    def need(self, column: str, parse: Callable[[str], Part], default: Part) -> Part:
        """The same for a column that may not be empty."""
        if self.row[column]:
            return self._parsed(column, parse, default)
        self.refuse(column, _("Nothing is there: this column has to be filled."))
        return default

    def _parsed(self, column: str, parse: Callable[[str], Part], default: Part) -> Part:
        try:
            return parse(self.row[column])
        except Unreadable as wrong:
            self.refuse(column, wrong.sentence)
            return default

    def refuse(self, column: str, says: str | Sentence, /, **values: object) -> None:
        self.problems.append(self.row.problem(column, says, **values))
        self.fine = False


def _rows(sheet: Sheet, make: Callable[[Cells], Made]) -> Reading[Made]:
    problems: list[Problem] = []
    rows = []
    for row in sheet.rows:
        each = Cells(row, problems)
        made = make(each)
        if each.fine:
            rows.append(made)
        if len(problems) >= MOST_PROBLEMS:
            problems.append(row.problem("", _("Reading stopped here: too much is wrong. Fix the rows above first.")))
            break
    return Reading(tuple(rows), tuple(problems), sheet.remarks)


def _twice(reading: Reading[T], key: Callable[[T], object], column: str, says: str) -> Reading[T]:
    """Refuse rows whose key a row above has already."""
    first: dict[object, T] = {}
    again = [row for row in reading.rows if first.setdefault(key(row), row) is not row]
    doubles = [Problem(says, column, row.row, name=key(row)) for row in again[:MOST_PROBLEMS]]
    rows = tuple(first.values())
    return Reading(rows, (*reading.problems, *doubles), reading.remarks)


def rings(content: bytes) -> Reading[MeasuredRing]:
    """ring, pixels, height_mm, closing → measured rings from the top, numbered 1…n without a gap."""
    sheet = read(content, required=("ring", "pixels"), known=("ring", "pixels", "height_mm", "closing"))
    numbers: dict[int, int] = {}

    def make(each: Cells) -> MeasuredRing:
        ring = each.need("ring", lambda text: cells.whole(text, 1, 10_000), 0)
        if ring and numbers.setdefault(ring, each.row.number) != each.row.number:
            each.refuse(
                "ring", _("Ring {ring} is there twice: row {row} has it already."), ring=ring, row=numbers[ring]
            )
        return MeasuredRing(
            ring=ring,
            pixels=each.need("pixels", lambda text: cells.whole(text, 1, 1_000_000), 0),
            height_m=each.take("height_mm", lambda text: cells.decimal(text, 0, 1e6) / 1000, None),
            closing=each.take("closing", _yes, False),
        )

    reading = _rows(sheet, make)
    rows = tuple(sorted(reading.rows, key=lambda ring: ring.ring))
    return Reading(rows, reading.problems or _gaps(row.ring for row in rows), reading.remarks)


def _gaps(numbers: Iterable[int]) -> tuple[Problem, ...]:
    numbered = set(numbers)
    missing = [number for number in range(1, max(numbered) + 1) if number not in numbered]
    if not missing:
        return ()
    names = ", ".join(map(str, missing[:5])) + ("…" if len(missing) > 5 else "")
    verb = "is" if len(missing) == 1 else "are"
    return (
        Problem(
            _("Ring {names} {verb} missing: rings count from 1 at the top without a gap."),
            "ring",
            names=names,
            verb=verb,
        ),
    )


def _yes(text: str) -> bool:
    if text.lower() in ("1", "yes", "y", "true", "x", "closing"):
        return True
    if text.lower() in ("0", "no", "n", "false", "-"):
        return False
    raise Unreadable(_("{text!r} is neither yes nor no: write yes, or leave it empty."), text=text)


def crew(content: bytes, jobs: Iterable[str] = ()) -> Reading[CrewRow]:
    """name, initials, skills, populate_limit_h, role → people; skills are stages or names of jobs."""
    sheet = read(content, required=("name",), known=("name", "initials", "skills", "populate_limit_h", "role"))
    known = (*STAGES, *jobs)

    def make(each: Cells) -> CrewRow:
        return CrewRow(
            row=each.row.number,
            name=each.need("name", lambda text: _short(text, 80), ""),
            initials=each.take("initials", lambda text: _short(text, 4), ""),
            skills=each.take("skills", lambda text: _among(cells.several(text), known), ()),
            populate_limit_h=each.take("populate_limit_h", lambda text: cells.decimal(text, 0, 24), 3.0),
            role=each.take("role", lambda text: _among((text.lower(),), ROLES)[0], "helper"),
        )

    return _twice(_rows(sheet, make), lambda row: row.name, "name", _("{name} is there twice: one row a person."))


def _short(text: str, most: int) -> str:
    if len(text) > most:
        raise Unreadable(
            _("{text!r}… has {text2} characters: at most {most} fit."), text=text[:20], text2=len(text), most=most
        )
    return text


def _among(names: tuple[str, ...], known: tuple[str, ...]) -> tuple[str, ...]:
    by_name = {name.lower(): name for name in known}
    for name in names:
        if name.lower() not in by_name:
            raise Unreadable(_("{name!r} is not known; known are {known}."), name=name, known=", ".join(known))
    return tuple(by_name[name.lower()] for name in names)


def availability(content: bytes, zone: ZoneInfo) -> Reading[ShiftRow | PatternRow]:
    """name with date, start, end, or with weekday, from, until (first_day, last_day), in the build's own time."""
    dated, weekly = ("date", "start", "end"), ("weekday", "from", "until")
    columns = ("name", *dated, *weekly, "first_day", "last_day")
    sheet = read(content, required=("name",), known=columns)
    if not (sheet.columns >= set(dated) or sheet.columns >= set(weekly)):
        read(content, required=("name", *dated), known=columns)  # refuses, naming what is missing

    def make(each: Cells) -> ShiftRow | PatternRow:
        return _pattern(each) if each.row["weekday"] else _shift(each, zone)

    return _rows(sheet, make)


def _shift(each: Cells, zone: ZoneInfo) -> ShiftRow:
    name = each.need("name", str, "")
    start_day = each.need("date", cells.day, None)
    start, end = each.need("start", cells.clock, None), each.need("end", cells.clock, None)
    if start_day is None or start is None or end is None:
        return ShiftRow(each.row.number, name, *cells.shift(*_ANY_SHIFT, zone))
    if start == end:
        each.refuse("end", _("The shift ends when it starts: give an end after the start."))
    return ShiftRow(each.row.number, name, *cells.shift(start_day, start, end, zone))


_ANY_SHIFT = (cells.day("2000-01-01"), cells.clock("00:00"), cells.clock("01:00"))  # stands in beside a problem


def _pattern(each: Cells) -> PatternRow:
    midnight = cells.clock("00:00")
    return PatternRow(
        row=each.row.number,
        name=each.need("name", str, ""),
        weekday=each.need("weekday", cells.weekday, 0),
        from_time=each.need("from", cells.clock, midnight),
        until_time=each.need("until", cells.clock, midnight),
        first_day=each.take("first_day", cells.day, None),
        last_day=each.take("last_day", cells.day, None),
    )


def stints(content: bytes, zone: ZoneInfo) -> Reading[StintRow]:
    """name, stage (or job), start, end, break_min, segment, pixels → one stint a row."""
    sheet = read(
        content,
        required=("name", "stage", "start", "end"),
        known=("name", "stage", "start", "end", "break_min", "segment", "pixels"),
    )
    any_time = cells.moment("2000-01-01 00:00", zone)

    def make(each: Cells) -> StintRow:
        return StintRow(
            row=each.row.number,
            names=each.need("name", cells.several, ()),
            work=each.need("stage", str, ""),
            start=each.need("start", lambda text: cells.moment(text, zone), any_time),
            end=each.need("end", lambda text: cells.moment(text, zone), any_time),
            rest_min=each.take("break_min", lambda text: cells.decimal(text, 0, 24 * 60), 0.0),
            segment=each.take("segment", str, ""),
            pixels=each.take("pixels", lambda text: cells.whole(text, 0, 1_000_000), 0),
        )

    return _rows(sheet, make)


def jobs(content: bytes) -> Reading[JobRow]:
    """job, hours_low, hours_likely, hours_high, hands, after, skills → work that belongs to no segment."""
    sheet = read(
        content,
        required=("job", "hours_low", "hours_likely", "hours_high"),
        known=("job", "hours_low", "hours_likely", "hours_high", "hands", "after", "skills"),
    )

    def make(each: Cells) -> JobRow:
        low, likely, high = (
            each.need(column, lambda text: cells.decimal(text, 0, 10_000), 0.0)
            for column in ("hours_low", "hours_likely", "hours_high")
        )
        if each.fine and not low <= likely <= high:
            each.refuse(
                "hours_likely",
                _("{low:g}, {likely:g}, {high:g} h are not in rising order: low, likely, high."),
                low=low,
                likely=likely,
                high=high,
            )
        return JobRow(
            row=each.row.number,
            name=each.need("job", lambda text: _short(text, 60), ""),
            hours_low=low,
            hours_likely=likely,
            hours_high=high,
            hands=each.take("hands", lambda text: cells.whole(text, 1, MOST_HANDS), 1),
            after=each.take("after", cells.several, ()),
            skills=each.take("skills", cells.several, ()),
        )

    return _twice(_rows(sheet, make), lambda row: row.name, "job", _("{name} is there twice: one row a job."))
