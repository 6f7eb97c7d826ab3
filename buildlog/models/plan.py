"""The plan of a build and the pieces of work that it makes."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import F

from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.work.order import RunLink, SegmentProgress
from buildlog.core.work.stages import Stage
from buildlog.models.build import Build
from buildlog.models.people import Person


class Plan(models.Model):
    """A revision of the plan. ``parameters`` is the whole of it: rings, segments and channels follow from them."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="plans")
    revision = models.PositiveIntegerField(default=1)
    parameters: Any = models.JSONField()
    created_at = models.DateTimeField()
    frozen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["build", "-revision"]
        constraints = [models.UniqueConstraint(fields=["build", "revision"], name="one_plan_a_revision")]

    def __str__(self) -> str:
        return f"{self.build.code} plan {self.revision}"

    @property
    def frozen(self) -> bool:
        return self.frozen_at is not None

    def read(self) -> PlanParameters:
        return PlanParameters.from_json(self.parameters)


class SegmentQuerySet(models.QuerySet["Segment"]):
    def current(self) -> SegmentQuerySet:
        """Those of the plan in force, in the order of the ball."""
        return self.filter(retired_at__isnull=True).order_by("ring", "piece")

    def in_the_way(self) -> SegmentQuerySet:
        """Those that have to be wired and tested before the way in may be closed."""
        return self.current().filter(closing=False)

    def short_of(self, stage: Stage) -> SegmentQuerySet:
        """Those with pixels that have not passed the stage."""
        return self.filter(**{f"{stage.done}__lt": F("pixels")})


class Segment(models.Model):
    """One continuous piece of strap, and how many of its pixels have passed each stage.

    The four sums are what the ledger adds up to, not limited; they change only together with a ledger entry.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="segments")
    ring = models.PositiveIntegerField()
    piece = models.PositiveIntegerField()
    code = models.CharField(max_length=16)
    label = models.CharField(max_length=8, unique=True)  # what its printed code holds
    first_pixel = models.PositiveIntegerField()
    pixels = models.PositiveIntegerField()
    from_deg = models.FloatField()  # from the ring's own seam
    to_deg = models.FloatField()
    closing = models.BooleanField(default=False)
    assigned_to = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="segments")
    populated = models.IntegerField(default=0)
    mounted = models.IntegerField(default=0)
    wired = models.IntegerField(default=0)
    tested = models.IntegerField(default=0)
    retired_at = models.DateTimeField(null=True, blank=True)

    objects = SegmentQuerySet.as_manager()

    class Meta:
        ordering = ["ring", "piece"]
        constraints = [
            models.UniqueConstraint(
                fields=["build", "code"],
                condition=models.Q(retired_at__isnull=True),
                name="one_segment_a_code",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def sums(self) -> dict[Stage, int]:
        return {stage: getattr(self, stage.done) for stage in Stage}

    @property
    def standing(self) -> SegmentProgress:
        return SegmentProgress(self.code, self.pixels, self.closing, self.sums)

    def links(self) -> list[RunLink]:
        """The runs of this segment, each with what keeps data from it (one query, and one a run)."""
        return [
            RunLink(
                run.channel,
                run.first,
                run.last,
                tuple(run.before().unwired().values_list("segment__code", flat=True)),
            )
            for run in self.runs.all()
        ]


class RunQuerySet(models.QuerySet["Run"]):
    def unwired(self) -> RunQuerySet:
        """Runs whose pixels are not all wired."""
        return self.filter(segment__wired__lt=F("last"))


class Run(models.Model):
    """The part of a segment that one channel drives, at its position in the channel's chain."""

    segment = models.ForeignKey(Segment, on_delete=models.CASCADE, related_name="runs")
    channel = models.PositiveIntegerField()
    position = models.PositiveIntegerField()
    first = models.PositiveIntegerField()
    last = models.PositiveIntegerField()
    reversed = models.BooleanField(default=False)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["channel", "position"]
        indexes = [models.Index(fields=["channel", "position"])]

    def __str__(self) -> str:
        return f"channel {self.channel}: {self.segment} {self.first}–{self.last}"

    def before(self) -> RunQuerySet:
        """The runs that data passes before it reaches this one."""
        same_chain = Run.objects.filter(
            segment__build_id=self.segment.build_id, segment__retired_at__isnull=True, channel=self.channel
        )
        return same_chain.filter(position__lt=self.position)
