"""The form that puts a stint's times right, on the build's own clock."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from buildlog.core.work.deeds import LONGEST_BREAK_MIN, StintCorrect
from buildlog.core.work.localtime import LocalTime
from buildlog.models import Stint

WHICH = [("0", "the first time, before the clocks went back"), ("1", "the second time, after the clocks went back")]


class WallClockField(forms.Field):
    """A time as read off the wall; which instant that is comes out with the answer to *which of the two*."""

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")

    def to_python(self, value: Any) -> datetime | None:
        if not value or isinstance(value, datetime):
            return value or None
        moment = _read(value)
        if moment is None:
            raise forms.ValidationError(f"{value!r} is not a time: write it like 2026-05-02 09:00.")
        return moment


class CorrectForm(forms.Form):
    """From when until when, and the break inside. In the doubled hour it asks which of the two was meant."""

    start = WallClockField(label="Started")
    start_fold = forms.ChoiceField(label="Started which time?", choices=WHICH, widget=forms.RadioSelect)
    end = WallClockField(label="Stopped", error_messages={"required": "Say when you stopped."})
    end_fold = forms.ChoiceField(label="Stopped which time?", choices=WHICH, widget=forms.RadioSelect)
    break_min = forms.IntegerField(
        label="Breaks inside", help_text="Minutes.", required=False, min_value=0, max_value=LONGEST_BREAK_MIN
    )

    def __init__(self, stint: Stint, likely_end: datetime, *args: Any, **kwargs: Any) -> None:
        self.stint, self.zone = stint, stint.build.zone
        rest = round(stint.rest_s / 60) if stint.ended_at else 0
        initial = {"break_min": rest, **_on_the_wall("start", stint.started_at, self.zone)}
        kwargs["initial"] = initial | _on_the_wall("end", likely_end, self.zone)
        super().__init__(*args, **kwargs)
        for name in ("start", "end"):
            if not comes_twice(self._shown(name), self.zone):
                del self.fields[f"{name}_fold"]
            else:
                self.fields[f"{name}_fold"].error_messages["required"] = "This hour came twice: say which one."

    def _shown(self, name: str) -> datetime | None:
        return _read(self.data.get(name, "")) if self.is_bound else self.initial.get(name)

    @property
    def told(self) -> bool:
        """Can both times be read, whatever else is wrong?"""
        needed = [name for name in self.fields if name != "break_min"]
        return all(self.cleaned_data.get(name) for name in needed)

    def deed(self) -> StintCorrect:
        data = self.cleaned_data
        start, end = (LocalTime(data[name], _which(data.get(f"{name}_fold"))) for name in ("start", "end"))
        return StintCorrect(self.stint.pk, start, end, timedelta(minutes=data.get("break_min") or 0))


def comes_twice(read: datetime | None, zone: ZoneInfo) -> bool:
    """Does this reading of the clock come twice, because the clocks go back?"""
    if read is None:
        return False
    first, second = (read.replace(tzinfo=zone, fold=fold).utcoffset() for fold in (0, 1))
    return first is not None and second is not None and first > second


def _on_the_wall(name: str, moment: datetime | None, zone: ZoneInfo) -> dict[str, Any]:
    if moment is None:
        return {}
    local = moment.astimezone(zone)
    return {name: local.replace(tzinfo=None, fold=0), f"{name}_fold": str(local.fold)}


def _which(choice: str | None) -> int | None:
    return int(choice) if choice else None


def _read(text: str) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if moment.tzinfo is None and len(text) > 10 and 1970 <= moment.year < 9999 else None
