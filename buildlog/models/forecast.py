"""Forecasts as they were made: the newest to show at once, the last of each day to compare with what happened."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from typing import Any

from django.db import models

from buildlog.core.forecast.result.document.coding import decode
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.models.build import Build
from buildlog.models.document import DocumentField


class SavedForecastQuerySet(models.QuerySet["SavedForecast"]):
    def newest_first(self) -> SavedForecastQuerySet:
        return self.order_by("-as_of")

    def before(self, day: date) -> SavedForecastQuerySet:
        return self.filter(day__lt=day)


class SavedForecast(models.Model):
    """What the forecast said on one day; later ones of the same day take its place."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="forecasts")
    day = models.DateField()  # of as_of, in the build's own zone
    as_of = models.DateTimeField()
    made_at = models.DateTimeField()
    took_s = models.FloatField(default=0)
    follows_from = models.CharField(max_length=64)  # digest of everything it was made from
    report: Any = DocumentField(holds=dict[str, Any])

    objects = SavedForecastQuerySet.as_manager()

    class Meta:
        ordering = ["build", "-day"]
        constraints = [models.UniqueConstraint(fields=["build", "day"], name="one_forecast_a_day")]

    @cached_property
    def document(self) -> ForecastDocument:
        """What is stored, typed. Raises Refused for what does not fit."""
        return decode(ForecastDocument, self.report)

    def __str__(self) -> str:
        return f"{self.build.code} {self.day}"


class Claim(models.Model):
    """Somebody is computing this build's forecast: one at a time."""

    build = models.OneToOneField(Build, on_delete=models.CASCADE, related_name="claim")
    claimed_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.build.code} {self.claimed_at}"
