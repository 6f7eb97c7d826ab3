"""A build, and the record of what people did to it besides ticking."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any
from zoneinfo import ZoneInfo

import msgspec
from django.db import models

from buildlog.core.forecast.input import MOST_HANDS
from buildlog.core.work.stages import STAGES
from buildlog.models.document import DocumentField, StageName


def default_people_limits() -> dict[str, int]:
    """How many people fit at a stage at once; a stage that is not named has no limit."""
    return {stage.value: people for stage in STAGES if (people := stage.facts.people) is not None}


def default_hands() -> dict[str, int]:
    """How many people one piece needs at a stage; a stage that is not named needs one."""
    return {}


def default_rates() -> dict[str, float]:
    """Standard rates in units per person-hour, until the lead sets others."""
    return {stage.value: stage.facts.rate for stage in STAGES}


Places = Annotated[int, msgspec.Meta(ge=1, le=1_000_000)]
Hands = Annotated[int, msgspec.Meta(ge=1, le=MOST_HANDS)]
Layout = dict[str, str | float | bool | None]  # how labels were printed last, by the form's names
Rate = Annotated[float, msgspec.Meta(gt=0, le=1e6)]
Rates = msgspec.defstruct("Rates", [(stage.value, Rate) for stage in STAGES], forbid_unknown_fields=True)


class Build(models.Model):
    """One ball being built."""

    class Units(models.TextChoices):
        METRIC = "metric", "millimetres and metres"
        IMPERIAL = "imperial", "inches and feet"

    code = models.SlugField(max_length=16, unique=True)
    name = models.CharField(max_length=80)
    place = models.CharField(max_length=120, blank=True)
    time_zone = models.CharField(max_length=64, default="UTC")
    units = models.CharField(max_length=8, choices=Units.choices, default=Units.METRIC)
    target_at = models.DateTimeField(null=True, blank=True)
    people_limits = DocumentField(holds=dict[StageName, Places], default=default_people_limits, blank=True)
    hands = DocumentField(holds=dict[StageName, Hands], default=default_hands, blank=True)
    standard_rates = DocumentField(holds=Rates, default=default_rates, blank=True)
    label_layout = DocumentField(holds=Layout, default=dict, blank=True)
    rest_min = models.PositiveSmallIntegerField(default=10)  # suggested break in every hour of populating
    created_at = models.DateTimeField()

    class Meta:
        ordering = ["name", "code"]

    def __str__(self) -> str:
        return f"{self.name} ({self.code})"

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)


class Times(msgspec.Struct):
    """The times that a stint had before it was corrected."""

    started_at: datetime
    ended_at: datetime | None
    rest_s: int


class Detail(msgspec.Struct):
    """What records keep beside their sentence, of those parts that are read again."""

    before: dict[str, str | None] = {}
    given: dict[str, str] = {}
    old: Times | None = None


TOO_MANY = "too many"  # the verb of a stint begun without a network where people did not fit


class Record(models.Model):
    """One line of who did what to the build when, besides ticks: kept, never changed."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="records")
    by = models.ForeignKey("Person", on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    at = models.DateTimeField()
    verb = models.CharField(max_length=40)
    says = models.CharField(max_length=400)
    detail: Any = DocumentField(holds=Detail, default=dict, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["build", "-at"])]

    def __str__(self) -> str:
        return self.says
