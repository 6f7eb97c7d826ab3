"""The form of a what-if: more hands, who leaves, other limits, and the rest, all on one page."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import datetime, time
from typing import Any

from django import forms

from buildlog.core import cells
from buildlog.core.errors import Problem, Refused, Unreadable
from buildlog.core.forecast.questions.request import LONGEST_NAME, MOST_HANDS, MoreHands, MoreShifts, WhatIfRequest
from buildlog.core.forecast.questions.times import Times
from buildlog.core.wording import _
from buildlog.core.work.stages import CHOICES, STAGES
from buildlog.forms.offers import offer
from buildlog.forms.refusals import show_refusal
from buildlog.models import Build
from buildlog.words import say

ROWS = 3  # groups of more helpers, and of more shifts
MOST_FIT = 12
RINGS = re.compile(r"(\d{1,5})(?:\s*(?:-|–|…|to)\s*(\d{1,5}))?")
WEEKDAYS = [(str(number), name[:3].capitalize()) for number, name in enumerate(cells.DAYS)]
END_OF_DAY = time(18, 0)
AS_TODAY, NO_LIMIT = "", "none"
DATE, CLOCK = {"type": "date"}, {"type": "time"}


class TimesForm(forms.Form):
    """When hands would come; a row in which nothing is chosen says nothing."""

    weekdays = forms.MultipleChoiceField(
        choices=WEEKDAYS, required=False, widget=forms.CheckboxSelectMultiple, label="Every week on"
    )
    day = forms.DateField(required=False, widget=forms.DateInput(attrs=DATE), label="Or on one day")
    from_time = forms.TimeField(required=False, initial="10:00", widget=forms.TimeInput(attrs=CLOCK), label="From")
    until_time = forms.TimeField(required=False, initial="17:00", widget=forms.TimeInput(attrs=CLOCK), label="Until")
    last_day = forms.DateField(
        required=False, widget=forms.DateInput(attrs=DATE), label="Last day", help_text="Empty: no end."
    )
    SAYS: tuple[str, ...] = ("weekdays", "day", "last_day")
    PLACES = {"days": "weekdays", "until": "until_time", "day": "day", "last_day": "last_day"}

    @property
    def says_something(self) -> bool:
        """To be shown open: something is chosen in it, or was when it was asked last."""
        return any(self[name].value() for name in self.SAYS)

    @property
    def is_empty(self) -> bool:
        return not any(self.cleaned_data.get(name) for name in self.SAYS) and not self.errors

    def times(self) -> Times:
        """Raises Refused by the names of this form."""
        data = self.cleaned_data
        try:
            return Times(
                data["from_time"] or time(10), data["until_time"] or time(17), tuple(map(int, data["weekdays"])),
                None if data["weekdays"] else data["day"], data["last_day"] if data["weekdays"] else None,
            )  # fmt: skip
        except Refused as refused:
            raise Refused(problem.at(self.PLACES.get(problem.field, "")) for problem in refused.problems) from refused

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if data.get("weekdays") and data.get("day"):
            self.add_error("day", "Days of the week and one date cannot both be meant: clear one of the two.")
        if not self.errors and not self.is_empty:
            try:
                self.take()
            except Refused as refused:
                show_refusal(self, refused)
        return data

    def take(self) -> Any:
        raise NotImplementedError


class MoreForm(TimesForm):
    """Helpers who are not in the crew."""

    count = forms.IntegerField(required=False, min_value=1, max_value=MOST_HANDS, label="How many")
    skills = forms.MultipleChoiceField(
        choices=CHOICES, required=False, label="They can",
        help_text="None chosen: everything.", widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    SAYS = (*TimesForm.SAYS, "count", "skills")

    def take(self) -> MoreHands:
        times = self.times()
        if not self.cleaned_data["count"]:
            raise Refused(Problem(_("How many more? Give 1 to {most_hands}."), "count", most_hands=MOST_HANDS))
        return MoreHands(self.cleaned_data["count"], times, tuple(self.cleaned_data["skills"]))


class ShiftsForm(TimesForm):
    """Somebody of the crew comes more often."""

    who = forms.ChoiceField(required=False, label="Who")
    SAYS = (*TimesForm.SAYS, "who")

    def __init__(self, names: Sequence[str], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer(self, "who", [("", "choose a person"), *((name, name) for name in names)])

    def take(self) -> MoreShifts:
        if not self.cleaned_data["who"]:
            raise Refused(Problem(_("Who comes then? Choose somebody of the crew."), "who"))
        return MoreShifts(self.cleaned_data["who"], self.times())


class WhatIfForm(forms.Form):
    """One what-if. ``names``: the crew that the forecast counts with; ``more`` and ``shifts`` are rows below it."""

    name = forms.CharField(max_length=LONGEST_NAME, label="Name", help_text="Like “two more at weekends”.")
    without = forms.MultipleChoiceField(required=False, widget=forms.CheckboxSelectMultiple, label="Who leaves")
    rings = forms.CharField(
        required=False, max_length=200, label="Rings first", help_text="In this order, like 12-20, 25."
    )
    no_rework = forms.BooleanField(required=False, label="No test fails")
    hand_over = forms.BooleanField(
        required=False, label="Begun segments are handed over to whoever is there, and nobody waits for the order"
    )
    target_date = forms.DateField(required=False, widget=forms.DateInput(attrs=DATE), label="Ready by")
    target_time = forms.TimeField(
        required=False, widget=forms.TimeInput(attrs=CLOCK), label="At", help_text="Empty: 18:00."
    )

    def __init__(
        self, build: Build, names: Sequence[str], now: datetime, data: Any = None, what_if: WhatIfRequest | None = None
    ) -> None:
        super().__init__(data, initial=_initial(what_if, build) if what_if else None)
        self.build, self.now = build, now
        offer(self, "without", [(name, name) for name in names])
        for stage in STAGES:
            self.fields[f"people_{stage}"] = forms.ChoiceField(
                required=False, label=stage.capitalize(), choices=_fits(build.people_limits.get(stage))
            )
        rows = range(ROWS)
        self.more = [MoreForm(data, prefix=f"more-{n}", initial=_row(what_if.more if what_if else (), n)) for n in rows]
        shifts = what_if.shifts if what_if else ()
        self.shifts = [ShiftsForm(names, data, prefix=f"shifts-{n}", initial=_row(shifts, n)) for n in rows]

    def is_valid(self) -> bool:
        return all([super().is_valid(), *(row.is_valid() for row in (*self.more, *self.shifts))])

    @property
    def people(self) -> list[forms.BoundField]:
        return [self[f"people_{stage}"] for stage in STAGES]

    def clean_rings(self) -> tuple[int, ...]:
        text = self.cleaned_data["rings"]
        parts = [part.strip() for part in re.split(r"[,;]", text) if part.strip()]
        try:
            return tuple(dict.fromkeys(ring for part in parts for ring in rings_of(part, self._rings)))
        except Unreadable as wrong:
            raise forms.ValidationError(say(wrong.sentence)) from wrong

    @property
    def _rings(self) -> frozenset[int]:
        return frozenset(self.build.segments.current().values_list("ring", flat=True))

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if data.get("target_time") and not data.get("target_date") and "target_date" not in self.errors:
            self.add_error("target_date", "A time needs its day: give the date too.")
        return data

    def asked(self) -> WhatIfRequest:
        """What a valid form asks. Raises Refused by its fields."""
        data = self.cleaned_data
        people = ((stage.value, data[f"people_{stage}"]) for stage in STAGES)
        return WhatIfRequest(
            name=data["name"].strip(),
            more=tuple(row.take() for row in self.more if not row.is_empty),
            without=tuple(data["without"]),
            shifts=tuple(row.take() for row in self.shifts if not row.is_empty),
            people=tuple((stage, None if fit == NO_LIMIT else int(fit)) for stage, fit in people if fit != AS_TODAY),
            rings=data["rings"],
            rework=not data["no_rework"],
            hand_over=data["hand_over"],
            target=self._target(),
        )

    def _target(self) -> datetime | None:
        day, at = self.cleaned_data.get("target_date"), self.cleaned_data.get("target_time")
        if not day:
            return None
        try:
            target = cells.moment(f"{day} {at or END_OF_DAY:%H:%M}", self.build.zone)
        except Unreadable as wrong:
            raise Refused(Problem(wrong.sentence, "target_time")) from wrong
        if target <= self.now:
            raise Refused(
                Problem(
                    _("{day:%a} {day2} {day:%b %Y} has passed: give a day to come."),
                    "target_date",
                    day=day,
                    day2=day.day,
                )
            )
        return target.astimezone(self.build.zone)


class TakesForm(forms.Form):
    """How sure it is to be."""

    percent = forms.IntegerField(min_value=1, max_value=99, initial=80, label="How sure")


class DayPlanForm(forms.Form):
    """Which part of the day plan to show."""

    day = forms.ChoiceField(required=False, label="Day")
    helper = forms.ChoiceField(required=False, label="Who")

    def __init__(self, days: Iterable[tuple[str, str]], helpers: Iterable[str], data: Any) -> None:
        super().__init__(data)
        offer(self, "day", [*days, ("all", "all days to come")])
        offer(self, "helper", [("", "everybody"), *((name, name) for name in helpers)])


def rings_of(part: str, known: frozenset[int]) -> range | tuple[int, ...]:
    """One ring or a range of them, upwards or downwards. Raises ValueError with the sentence beside it."""
    match = RINGS.fullmatch(part)
    if match is None:
        raise Unreadable(_("Found “{part}”. Give rings and ranges, like 12-20, 25."), part=part)
    first, last = int(match[1]), int(match[2] or match[1])
    if missing := [ring for ring in (first, last) if ring not in known]:
        there = f"rings go from {min(known)} to {max(known)}" if known else "the plan has no rings yet"
        raise Unreadable(_("There is no ring {missing}: {there}."), missing=missing[0], there=there)
    rings = range(first, last + 1) if first <= last else range(first, last - 1, -1)
    return tuple(ring for ring in rings if ring in known)


def _fits(limit: int | None) -> list[tuple[str, str]]:
    today = "no limit" if limit is None else f"{limit}"
    return [(AS_TODAY, f"as today ({today})"), *((str(n), str(n)) for n in range(MOST_FIT + 1)), (NO_LIMIT, "no limit")]


def _initial(what_if: WhatIfRequest, build: Build) -> dict[str, Any]:
    local = what_if.target.astimezone(build.zone) if what_if.target else None
    people = {f"people_{stage}": NO_LIMIT if fit is None else str(fit) for stage, fit in what_if.people}
    target = {"target_date": local.date(), "target_time": local.time()} if local else {}
    plain = {
        "name": what_if.name,
        "without": what_if.without,
        "hand_over": what_if.hand_over,
        "no_rework": not what_if.rework,
    }
    return plain | people | target | {"rings": ", ".join(map(str, what_if.rings))}


def _row(rows: Sequence[MoreHands | MoreShifts], number: int) -> dict[str, Any] | None:
    if number >= len(rows):
        return None
    row, times = rows[number], rows[number].times
    own = {"who": row.name} if isinstance(row, MoreShifts) else {"count": row.count, "skills": row.skills}
    return own | {
        "weekdays": [str(day) for day in times.weekdays], "day": times.day, "last_day": times.last_day,
        "from_time": times.start, "until_time": times.end,
    }  # fmt: skip
