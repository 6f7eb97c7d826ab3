"""The crew of a build and when they can come."""

from __future__ import annotations

import calendar
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import models

from buildlog.core import cells
from buildlog.models.build import Build
from buildlog.models.document import DocumentField, Words


class PersonQuerySet(models.QuerySet["Person"]):
    def active(self) -> PersonQuerySet:
        return self.filter(left_at__isnull=True)

    def working(self) -> PersonQuerySet:
        """Those who may do stints: leads and helpers."""
        return self.active().exclude(role=Person.Role.VIEWER)


class Person(models.Model):
    """One member of a build's crew. Helpers and viewers come in with a PIN, leads with a password (``user``)."""

    class Role(models.TextChoices):
        LEAD = "lead", "Lead"
        HELPER = "helper", "Helper"
        VIEWER = "viewer", "Viewer"

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="people")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="people"
    )
    name = models.CharField(max_length=80)
    initials = models.CharField(max_length=4, blank=True)
    role = models.CharField(max_length=8, choices=Role.choices, default=Role.HELPER)
    skills = DocumentField(holds=Words, default=list, blank=True)  # stages and job names; empty = can do everything
    populate_limit_h = models.FloatField(default=3)
    pin = models.CharField(max_length=200, blank=True)  # hashed and peppered; "" = no PIN issued yet
    pin_version = models.PositiveIntegerField(default=0)  # a new PIN ends the sign-ins made with the old one
    left_at = models.DateTimeField(null=True, blank=True)

    objects = PersonQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["build", "name"], name="one_person_a_name"),
            models.UniqueConstraint(
                fields=["build", "user"], condition=models.Q(user__isnull=False), name="one_person_a_user"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_lead(self) -> bool:
        return self.role == self.Role.LEAD

    def can(self, skill: str) -> bool:
        return not self.skills or skill in self.skills


class Shift(models.Model):
    """A stretch of time in which somebody said to be there."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="shifts")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()

    class Meta:
        ordering = ["starts_at", "person__name"]
        constraints = [
            models.UniqueConstraint(fields=["person", "starts_at"], name="one_shift_a_start"),
            models.CheckConstraint(condition=models.Q(ends_at__gt=models.F("starts_at")), name="shift_ends_later"),
        ]
        indexes = [models.Index(fields=["ends_at"])]

    def __str__(self) -> str:
        return f"{self.person} {self.starts_at:%Y-%m-%d %H:%M}"


class WeeklyPattern(models.Model):
    """Every week on this day, from one local time until another, between two dates."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="patterns")
    weekday = models.PositiveSmallIntegerField()  # 0 = Monday
    from_time = models.TimeField()
    until_time = models.TimeField()
    first_day = models.DateField()
    last_day = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["person__name", "weekday", "from_time"]
        constraints = [
            models.UniqueConstraint(fields=["person", "weekday", "from_time"], name="one_pattern_a_start"),
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.weekday} {self.from_time:%H:%M}"

    @property
    def day_name(self) -> str:
        return calendar.day_name[self.weekday]

    def spell_on(self, day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
        """Start and end on that day, in that zone; the same moment when the clocks skip all of it."""
        start, end = cells.shift(day, self.from_time, self.until_time, zone)
        return start.astimezone(zone), end.astimezone(zone)
