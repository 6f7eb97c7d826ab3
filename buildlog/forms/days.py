"""A day in a form."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from buildlog.core import cells
from buildlog.core.errors import Unreadable
from buildlog.words import say


class DayField(forms.DateField):
    """A day of a year in which things are built."""

    widget = forms.DateInput(attrs={"type": "date"})

    def clean(self, value: Any) -> date | None:
        day = super().clean(value)
        try:
            return cells.near(day) if day else None
        except Unreadable as wrong:
            raise forms.ValidationError(say(wrong.sentence)) from wrong
