"""Forms of the Crew screen: a person, a shift, a weekly pattern."""

from __future__ import annotations

from typing import Any

from django import forms

from buildlog.core import cells
from buildlog.core.work.stages import STAGES
from buildlog.forms.days import DayField
from buildlog.forms.offers import offer
from buildlog.models import Build, Person

WEEKDAYS = list(enumerate(day.capitalize() for day in cells.DAYS))


class PersonForm(forms.Form):
    """What the lead says of somebody; names and initials are all that is asked."""

    name = forms.CharField(max_length=80, label="Name", help_text="What they tap to sign in.")
    initials = forms.CharField(max_length=4, required=False, label="Initials", help_text="Shown on the map.")
    role = forms.ChoiceField(choices=Person.Role.choices, label="Role", initial=Person.Role.HELPER)
    skills = forms.MultipleChoiceField(
        required=False, widget=forms.CheckboxSelectMultiple, label="Skills", help_text="None ticked means everything."
    )
    populate_limit_h = forms.FloatField(
        min_value=0, max_value=24, initial=3, label="Populating, at most", help_text="Hours a day, to spare the hands."
    )

    def __init__(self, build: Build, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        jobs = [(job.name, job.name) for job in build.jobs.all()]
        offer(self, "skills", [*((stage.value, stage.value) for stage in STAGES), *jobs])


class ShiftForm(forms.Form):
    """One day on which somebody comes, in the build's own time."""

    date = DayField(label="Day")
    start = forms.TimeField(widget=forms.TimeInput(attrs={"type": "time"}), label="From")
    end = forms.TimeField(
        widget=forms.TimeInput(attrs={"type": "time"}), label="Until", help_text="Earlier than “from” means next day."
    )

    def clean(self) -> dict[str, Any]:
        return _refuse_equal(self, "start", "end")


def _refuse_equal(form: forms.Form, start: str, end: str) -> dict[str, Any]:
    """From nine until nine is a slip, not a whole day."""
    data = form.cleaned_data
    if data.get(start) is not None and data.get(start) == data.get(end):
        form.add_error(end, "It ends when it starts: give another time.")
    return data


class PatternForm(forms.Form):
    """A day of the week on which somebody always comes."""

    weekday = forms.TypedChoiceField(choices=WEEKDAYS, coerce=int, label="Every")
    from_time = forms.TimeField(widget=forms.TimeInput(attrs={"type": "time"}), label="From")
    until_time = forms.TimeField(widget=forms.TimeInput(attrs={"type": "time"}), label="Until")
    last_day = DayField(required=False, label="Last day", help_text="Empty: no end.")

    def clean(self) -> dict[str, Any]:
        return _refuse_equal(self, "from_time", "until_time")


class AccountForm(forms.Form):
    """A lead's own sign-in."""

    username = forms.CharField(max_length=150, label="Name to sign in with")
    password = forms.CharField(
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        label="Password",
    )
