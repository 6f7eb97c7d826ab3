"""A new build, and what is settled about one."""

from __future__ import annotations

import zoneinfo
from datetime import datetime, time
from typing import Any

from django import forms

from buildlog.core import cells
from buildlog.core.errors import Unreadable
from buildlog.core.forecast.input import MOST_HANDS
from buildlog.core.work.stages import STAGES, Stage
from buildlog.models import Build
from buildlog.words import say

CONTINENTS = (
    "Africa/", "America/", "Antarctica/", "Arctic/", "Asia/", "Atlantic/", "Australia/", "Europe/", "Indian/",
    "Pacific/",
)  # fmt: skip
END_OF_DAY = time(18, 0)


def time_zones() -> list[str]:
    """IANA names to choose from, without the old aliases."""
    return ["UTC", *sorted(name for name in zoneinfo.available_timezones() if name.startswith(CONTINENTS))]


class TimeZoneField(forms.CharField):
    """An IANA name, offered from a list, in any case of letters."""

    def __init__(self, **kwargs: Any) -> None:
        attrs = {"list": "time-zones", "autocomplete": "off", "spellcheck": "false"}
        hint = "Type a place, like Lisbon, and take it from the list."
        what: dict[str, Any] = {
            "label": "Time zone", "help_text": hint, "max_length": 64, "widget": forms.TextInput(attrs=attrs)
        }  # fmt: skip
        super().__init__(**what | kwargs)

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        by_name = {name.lower(): name for name in zoneinfo.available_timezones()}
        zone = by_name.get(text.lower().replace(" ", "_"))
        if text and zone is None:
            raise forms.ValidationError(
                f"“{text}” is not a time zone: take one from the list, such as Europe/Lisbon or America/Chicago."
            )
        return zone or ""


class NewBuildForm(forms.Form):
    """What it takes to begin a build."""

    name = forms.CharField(max_length=80, label="Name", help_text="What the crew calls it.")
    code = forms.CharField(
        max_length=16, label="Code", help_text="Short: letters, digits, hyphens. It stands in addresses and on labels."
    )
    place = forms.CharField(max_length=120, required=False, label="Place")
    time_zone = TimeZoneField()
    units = forms.ChoiceField(
        choices=Build.Units.choices, widget=forms.RadioSelect, label="Lengths are shown in",
        initial=Build.Units.METRIC, help_text="Any unit can be typed: 2.6m, 30mm, 8ft, 1in.",
    )  # fmt: skip


class SettingsForm(forms.Form):
    """What is settled about a build beside its plan: by stage, people, hands and rates."""

    name = forms.CharField(max_length=80, label="Name")
    place = forms.CharField(max_length=120, required=False, label="Place")
    time_zone = TimeZoneField()
    units = forms.ChoiceField(choices=Build.Units.choices, widget=forms.RadioSelect, label="Lengths are shown in")
    target_date = forms.DateField(
        required=False, widget=forms.DateInput(attrs={"type": "date"}), label="Ready by",
        help_text="The forecast gives the odds for it.",
    )  # fmt: skip
    target_time = forms.TimeField(
        required=False, widget=forms.TimeInput(attrs={"type": "time"}), label="At", help_text="Empty: 18:00."
    )
    rest_min = forms.IntegerField(
        min_value=0, max_value=60, label="Suggested rest",
        help_text="In every hour of populating, to spare the hands. A caution, not medical advice.",
    )  # fmt: skip

    def __init__(self, build: Build, data: Any = None) -> None:
        super().__init__(data, initial=_said(build))
        for stage in STAGES:
            self.fields[f"people_{stage}"] = forms.IntegerField(
                min_value=1, max_value=100, required=False, label=stage.capitalize()
            )
            self.fields[f"hands_{stage}"] = forms.IntegerField(
                min_value=1, max_value=MOST_HANDS, required=False, label=stage.capitalize()
            )
            self.fields[f"rate_{stage}"] = forms.FloatField(
                min_value=0.1, max_value=100_000, label=stage.capitalize(), help_text=f"{_work(stage)} a person-hour."
            )

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if data.get("target_time") and not data.get("target_date") and "target_date" not in self.errors:
            self.add_error("target_date", "A time needs its day: give the date too.")
        if data.get("target_date") and data.get("time_zone") and "target_time" not in self.errors:
            self._take_target(data)
        for stage in STAGES:
            needed, fit = data.get(f"hands_{stage}") or 1, data.get(f"people_{stage}")
            if fit is not None and fit < needed:
                says = f"One piece needs {needed} to {stage}, and only {fit} may be there: it could never be done. "
                self.add_error(f"people_{stage}", f"{says}Change one of the two.")
        return data

    def _take_target(self, data: dict[str, Any]) -> None:
        at = data.get("target_time") or END_OF_DAY
        try:
            zone = zoneinfo.ZoneInfo(data["time_zone"])
            self.target_at: datetime | None = cells.moment(f"{data['target_date']} {at:%H:%M}", zone)
        except Unreadable as wrong:
            self.add_error("target_time", say(wrong.sentence))

    @property
    def changes(self) -> dict[str, Any]:
        """What a valid form settles, by the build's own names."""
        data = self.cleaned_data
        plain = {name: data[name] for name in ("name", "place", "time_zone", "units", "rest_min")}
        hands = {stage: number for stage, number in self._by_stage("hands").items() if number != 1}
        rates = self._by_stage("rate")
        return plain | {
            "target_at": self.target_at if data.get("target_date") else None,
            "people_limits": self._by_stage("people"), "hands": hands, "standard_rates": rates,
        }  # fmt: skip

    def _by_stage(self, what: str) -> dict[str, Any]:
        rates = {stage.value: self.cleaned_data.get(f"{what}_{stage}") for stage in STAGES}
        return {stage: number for stage, number in rates.items() if number is not None}

    def by_stage(self, what: str) -> list[forms.BoundField]:
        return [self[f"{what}_{stage}"] for stage in STAGES]

    @property
    def people(self) -> list[forms.BoundField]:
        return self.by_stage("people")

    @property
    def hands(self) -> list[forms.BoundField]:
        return self.by_stage("hands")

    @property
    def rates(self) -> list[forms.BoundField]:
        return self.by_stage("rate")


def _work(stage: Stage) -> str:
    return "Pixels" if stage in (Stage.POPULATE, Stage.MOUNT) else "Runs"


def _said(build: Build) -> dict[str, Any]:
    local = build.target_at.astimezone(build.zone) if build.target_at else None
    plain = {name: getattr(build, name) for name in ("name", "place", "time_zone", "units", "rest_min")}
    target = {"target_date": local.date(), "target_time": local.time()} if local else {}
    groups = (("people", build.people_limits), ("hands", build.hands), ("rate", build.standard_rates))
    stages = {f"{what}_{stage}": values[stage] for what, values in groups for stage in STAGES if stage in values}
    return plain | target | stages
