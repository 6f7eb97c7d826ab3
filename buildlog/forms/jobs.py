"""The form of a job."""

from __future__ import annotations

from typing import Any

from django import forms

from buildlog.core.forecast.input import MOST_HANDS
from buildlog.core.work.stages import CHOICES
from buildlog.forms.offers import offer
from buildlog.models import Build, Job


class JobForm(forms.Form):
    """Work that belongs to no segment: three estimates in person-hours, hands, what it waits for."""

    job = forms.CharField(max_length=60, label="Job", help_text="Such as frame, paint or controller box.")
    hours_low = forms.FloatField(min_value=0, label="At best", help_text="Person-hours.")
    hours_likely = forms.FloatField(min_value=0, label="Most likely", help_text="Person-hours.")
    hours_high = forms.FloatField(min_value=0, label="At worst", help_text="Person-hours.")
    hands = forms.IntegerField(min_value=1, max_value=MOST_HANDS, initial=1, label="Helpers it needs at once")
    skills = forms.MultipleChoiceField(
        required=False, widget=forms.CheckboxSelectMultiple, label="Skills that help", help_text="None: anybody can."
    )
    after = forms.MultipleChoiceField(required=False, widget=forms.CheckboxSelectMultiple, label="Comes after")

    def __init__(self, build: Build, job: Job | None, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer(self, "skills", CHOICES)
        others = [other.name for other in build.jobs.all() if other != job]
        offer(self, "after", [(name, name) for name in others])
        if not others:
            del self.fields["after"]
