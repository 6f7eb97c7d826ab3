"""Work: jobs, stints, the ledger of ticks, and the lead's word before the way in is closed."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import Any

from django.db import models

from buildlog.core.work import order
from buildlog.core.work.ledger import LedgerKind
from buildlog.core.work.stages import CHOICES, Stage
from buildlog.core.work.stints import Spell
from buildlog.models.build import Build
from buildlog.models.document import DocumentField, Words
from buildlog.models.people import Person
from buildlog.models.plan import Segment


class Job(models.Model):
    """Work that belongs to no segment, with a three-point estimate in person-hours."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="jobs")
    name = models.CharField(max_length=60)
    hours_low = models.FloatField()
    hours_likely = models.FloatField()
    hours_high = models.FloatField()
    hands = models.PositiveSmallIntegerField(default=1)
    skills = DocumentField(holds=Words, default=list, blank=True)
    after = models.ManyToManyField("self", symmetrical=False, blank=True, related_name="before")
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["build", "name"], name="one_job_a_name")]

    def __str__(self) -> str:
        return self.name


class StintQuerySet(models.QuerySet["Stint"]):
    def running(self) -> StintQuerySet:
        return self.filter(state=Stint.State.RUNNING)

    def counted(self) -> StintQuerySet:
        """Those that say something about hours and rates."""
        return self.filter(state=Stint.State.CLOSED)

    def ended_by(self, moment: datetime) -> StintQuerySet:
        return self.filter(ended_at__lte=moment)


class Stint(models.Model):
    """One unbroken spell of work by one or more helpers on one stage or job."""

    class State(models.TextChoices):
        RUNNING = "running", "running"
        CLOSED = "closed", "closed"
        TO_CONFIRM = "to_confirm", "to be confirmed"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="stints")
    stage = models.CharField(max_length=10, choices=CHOICES, blank=True)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="stints")
    segment = models.ForeignKey(Segment, on_delete=models.PROTECT, null=True, blank=True, related_name="stints")
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    rest_s = models.PositiveIntegerField(default=0)
    paused_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.RUNNING)
    doubt = models.CharField(max_length=200, blank=True)  # why it is to be confirmed
    note = models.CharField(max_length=200, blank=True)
    people = models.ManyToManyField(Person, through="StintMember", related_name="stints")

    objects = StintQuerySet.as_manager()

    class Meta:
        ordering = ["started_at", "id"]
        indexes = [models.Index(fields=["build", "started_at"])]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(stage="", job__isnull=False) | (~models.Q(stage="") & models.Q(job__isnull=True)),
                name="stint_on_a_stage_or_a_job",
            ),
            models.CheckConstraint(
                condition=models.Q(ended_at__isnull=True) | models.Q(ended_at__gte=models.F("started_at")),
                name="stint_ends_later",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.work} {self.started_at:%Y-%m-%d %H:%M}"

    @property
    def work(self) -> str:
        return self.stage or (self.job.name if self.job else "")

    @property
    def rest(self) -> timedelta:
        return timedelta(seconds=self.rest_s)

    @property
    def hours(self) -> float:
        """Hours of each helper in it, breaks left out [h]; 0 while it runs."""
        return Spell(self.started_at, self.ended_at, self.rest).hours if self.ended_at else 0.0


class StintMember(models.Model):
    """One helper in a stint.

    ``open`` repeats the stint's state here, so that the database itself can hold the rule that one helper has at most
    one open stint.
    """

    stint = models.ForeignKey(Stint, on_delete=models.CASCADE, related_name="members")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="stint_members")
    open = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["stint", "person"], name="once_in_a_stint"),
            models.UniqueConstraint(fields=["person"], condition=models.Q(open=True), name="one_open_stint_a_person"),
        ]

    def __str__(self) -> str:
        return f"{self.person} in {self.stint}"


class LedgerEntry(models.Model):
    """Pixels of a segment that passed a stage, or were taken back. Appended, never changed or removed."""

    id = models.UUIDField(primary_key=True)
    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="entries")
    segment = models.ForeignKey(Segment, on_delete=models.PROTECT, related_name="entries")
    stage = models.CharField(max_length=10, choices=CHOICES)
    pixels = models.IntegerField()
    kind = models.CharField(max_length=8, choices=[(kind.value, kind.value) for kind in LedgerKind])
    undoes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="undone_by")
    actor = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="entries")
    stint = models.ForeignKey(Stint, on_delete=models.PROTECT, null=True, blank=True, related_name="entries")
    at = models.DateTimeField()  # when it happened, by the server's clock
    made_at = models.DateTimeField()  # when it happened, by the device's clock
    arrived_at = models.DateTimeField()
    note = models.CharField(max_length=200, blank=True)
    fingerprint = models.CharField(max_length=32)

    class Meta:
        ordering = ["at", "arrived_at", "id"]
        indexes = [models.Index(fields=["build", "at"]), models.Index(fields=["segment", "stage"])]
        constraints = [models.CheckConstraint(condition=~models.Q(pixels=0), name="entry_says_something")]

    def __str__(self) -> str:
        return f"{self.segment} {self.stage} {self.pixels:+d}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        super().save(*args, **{**kwargs, "force_insert": True})

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise TypeError("The ledger is append-only: undo with a new entry.")


class CloseInQuerySet(models.QuerySet["CloseIn"]):
    def standing(self) -> CloseInQuerySet:
        return self.filter(withdrawn_at__isnull=True)

    def state_of(self, build: Build) -> order.CloseInState:
        """What stands between this build and closing the way in (three queries)."""
        others = build.segments.in_the_way()
        word = self.standing().filter(build=build).first()
        return order.CloseInState(
            unwired=others.short_of(Stage.WIRE).count(),
            untested=others.short_of(Stage.TEST).count(),
            confirmed=word is not None and word.confirmed,
            overridden=word is not None and bool(word.override_reason),
        )


class CloseIn(models.Model):
    """The lead's word that the way in may be closed, or an override with its reason, until withdrawn."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="close_ins")
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    nobody_inside = models.BooleanField(default=False)
    tools_out = models.BooleanField(default=False)
    power_isolated = models.BooleanField(default=False)
    override_reason = models.CharField(max_length=400, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = CloseInQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"close-in {self.at:%Y-%m-%d %H:%M}"

    @property
    def confirmed(self) -> bool:
        return self.nobody_inside and self.tools_out and self.power_isolated
