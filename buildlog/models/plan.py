"""The plan of a build and the pieces of work that it makes."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from django.db import models
from django.db.models import F

from buildlog.core.plan.built import Built
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parts import PlannedRing, PlannedRun, PlannedSegment
from buildlog.core.work.order import RunLink, SegmentProgress
from buildlog.core.work.stages import Stage
from buildlog.models.build import Build
from buildlog.models.document import DocumentField
from buildlog.models.people import Person


class PlanManager(models.Manager["Plan"]):
    """Plans without their wiring, which is as long as the ball has channels: whoever asks for it gets it read."""

    def get_queryset(self) -> models.QuerySet[Plan]:
        return super().get_queryset().defer("wiring")

    def with_wiring(self) -> models.QuerySet[Plan]:
        """At once, for those who need it anyway."""
        return super().get_queryset()


class Plan(models.Model):
    """A revision of the plan. A draft follows from ``parameters``; once frozen its rows and ``built`` are the plan."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="plans")
    revision = models.PositiveIntegerField(default=1)
    parameters: Any = DocumentField(holds=dict[str, Any])
    created_at = models.DateTimeField()
    frozen_at = models.DateTimeField(null=True, blank=True)
    # Both of core.plan.built once it is frozen, {} while it is a draft.
    built: Any = DocumentField(holds=dict[str, Any], default=dict, blank=True)
    wiring: Any = DocumentField(holds=dict[str, Any], default=dict, blank=True)

    objects = PlanManager()

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

    def read_built(self) -> Built:
        return Built.from_json(self.built, self.wiring)


class Ring(models.Model):
    """A ring of a revision of the plan, where it lies on the ball; it never changes once the revision is frozen."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="rings")
    number = models.PositiveIntegerField()
    polar_deg = models.FloatField()
    height_m = models.FloatField()
    radius_m = models.FloatField()
    circumference_m = models.FloatField()
    pixels = models.PositiveIntegerField()
    seam_gap_m = models.FloatField()
    edge_strain = models.FloatField()
    closing = models.BooleanField(default=False)
    seam_deg = models.FloatField()
    shift_m = models.FloatField()

    class Meta:
        ordering = ["plan", "number"]
        constraints = [models.UniqueConstraint(fields=["plan", "number"], name="one_ring_a_number")]

    def __str__(self) -> str:
        return f"{self.plan}: ring {self.number}"

    @property
    def planned(self) -> PlannedRing:
        return PlannedRing(**{name: getattr(self, name) for name in RING_FIELDS})


RING_FIELDS = tuple(field.name for field in fields(PlannedRing))


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
    # Where it lies: on a ring of the plan in force, or, retired, of the one that it was retired from.
    lies_on = models.ForeignKey(Ring, on_delete=models.RESTRICT, related_name="segments")
    # The ring's number stands here too, for it is half of the name: the code of a retired segment must not follow its
    # ring, and every map sorts by it and every tick reads it without a join. The audit compares both.
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
    def planned(self) -> PlannedSegment:
        return PlannedSegment(
            self.ring, self.piece, self.first_pixel, self.pixels, self.from_deg, self.to_deg, self.closing
        )

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
    """The part of a segment that one channel drives, at its place in the channel's chain."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="runs")
    segment = models.ForeignKey(Segment, on_delete=models.CASCADE, related_name="runs")
    channel = models.PositiveIntegerField()
    begins = models.PositiveIntegerField()  # the pixel of the channel, from 1, that is the run's first
    first = models.PositiveIntegerField()
    last = models.PositiveIntegerField()
    reversed = models.BooleanField(default=False)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["channel", "begins"]
        # Runs are those of the plan in force, so this finds a pixel of a channel in one step.
        constraints = [models.UniqueConstraint(fields=["build", "channel", "begins"], name="one_run_a_pixel")]

    def __str__(self) -> str:
        return f"channel {self.channel}: {self.segment} {self.first}–{self.last}"

    @property
    def pixels(self) -> int:
        return self.last - self.first + 1

    @property
    def planned(self) -> PlannedRun:
        return PlannedRun(self.segment.code, self.first, self.last, self.reversed)

    def before(self) -> RunQuerySet:
        """The runs that data passes before it reaches this one."""
        return Run.objects.filter(build_id=self.build_id, channel=self.channel, begins__lt=self.begins)
