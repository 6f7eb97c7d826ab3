"""Forms of the Hours screen: which stints to show, and a stint entered afterwards."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from buildlog.core import cells
from buildlog.core.errors import Unreadable
from buildlog.core.work.deeds import LONGEST_BREAK_MIN, MOST_PIXELS
from buildlog.core.work.stages import CHOICES
from buildlog.forms.days import DayField
from buildlog.forms.offers import offer
from buildlog.models import Build
from buildlog.words import say


class LocalTimeField(forms.CharField):
    """A time of the build's own zone; where a clock change makes it doubtful it can be written with its offset."""

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"})

    zone = ZoneInfo("UTC")  # until the form says which

    def clean(self, value: Any) -> datetime:
        text = super().clean(value)
        try:
            return cells.moment(text, self.zone)
        except Unreadable as wrong:
            raise forms.ValidationError(say(wrong.sentence)) from wrong


def work_choices(build: Build) -> list[tuple[str, str]]:
    return CHOICES + [(job.name, job.name) for job in build.jobs.all()]


class ChoiceForm(forms.Form):
    """Which stints to show; everything may stay empty."""

    person = forms.TypedChoiceField(required=False, coerce=int, empty_value=None, label="Who")
    work = forms.ChoiceField(required=False, label="Work")
    day = DayField(required=False, label="Day")

    def __init__(self, build: Build, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = [(person.pk, person.name) for person in build.people.exclude(role="viewer")]
        offer(self, "person", [("", "everybody"), *people])
        offer(self, "work", [("", "all work"), *work_choices(build)])


class PastStintForm(forms.Form):
    """A stint that is over: who, on what, from when until when, and what came of it."""

    stint = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)
    name = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple, label="Who")
    work = forms.ChoiceField(label="Work")
    start = LocalTimeField(label="From")
    end = LocalTimeField(label="Until")
    break_min = forms.FloatField(
        required=False,
        min_value=0,
        max_value=LONGEST_BREAK_MIN,
        label="Break",
        help_text="Minutes, inside those times.",
    )  # fmt: skip
    segment = forms.CharField(required=False, max_length=16, label="Segment", help_text="Like R12-3.")
    pixels = forms.IntegerField(
        required=False, min_value=0, max_value=MOST_PIXELS, label="Pixels", help_text="0 or empty: rework or set-up."
    )

    def __init__(self, build: Build, only: int | None, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = build.people.working() if only is None else build.people.filter(pk=only)
        offer(self, "name", [(str(person.pk), person.name) for person in people])
        offer(self, "work", work_choices(build))
        for field in self.fields.values():
            if isinstance(field, LocalTimeField):
                field.zone = build.zone
        if only is not None:
            self.fields["name"].initial = [str(only)]

    def told(self, build: Build) -> dict[str, Any]:
        """What can be read of it so far, in the words of the logbook."""
        data = self.cleaned_data
        return {
            "stint_id": data.get("stint"), "people": list(build.people.filter(pk__in=data.get("name") or ())),
            "work": data.get("work") or "", "segment": data.get("segment") or "", "start": data.get("start"),
            "end": data.get("end"), "rest": timedelta(minutes=data.get("break_min") or 0),
            "pixels": data.get("pixels") or 0,
        }  # fmt: skip
