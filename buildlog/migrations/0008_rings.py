"""A plan is kept whole: its rings, where each run begins, and what is built beside them.

Computed once, from the parameters on file; where that differs from segments and runs, those hold and the plan says so.
"""

from collections.abc import Sequence
from typing import Any

import django.db.models.deletion
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

from buildlog.core.plan.on_file import on_file
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parts import PlannedChannel, PlannedRun, PlannedSegment

AT_ONCE = 500
Row = Any  # of a model as it was then: no class says what it has


def keep_whole(apps: StateApps, _schema_editor: BaseDatabaseSchemaEditor) -> None:
    for build in apps.get_model("buildlog", "Build").objects.all():
        Run = apps.get_model("buildlog", "Run")
        of_build = Run.objects.filter(segment__build=build)
        of_build.filter(segment__retired_at__isnull=False).delete()  # nothing reads them
        runs = list(of_build.select_related("segment").order_by("channel", "position"))
        channels = _place(build, runs)
        Run.objects.bulk_update(runs, ["build", "begins"], batch_size=AT_ONCE)
        segments = list(build.segments.order_by("ring", "piece"))
        _keep_rings(apps.get_model("buildlog", "Ring"), build, segments, channels)
        build.segments.model.objects.bulk_update(segments, ["lies_on"], batch_size=AT_ONCE)


def _place(build: Row, runs: Sequence[Row]) -> tuple[PlannedChannel, ...]:
    """Put the pixel at which it begins on each run; the channels that they make."""
    channels: dict[int, list[PlannedRun]] = {}
    for run in runs:
        chain = channels.setdefault(run.channel, [])
        run.build, run.begins = build, 1 + sum(before.pixels for before in chain)
        chain.append(PlannedRun(run.segment.code, run.first, run.last, run.reversed))
    return tuple(PlannedChannel(number, tuple(chain)) for number, chain in channels.items())


def _keep_rings(
    ring_model: Row, build: Row, segments: Sequence[Row], channels: tuple[PlannedChannel, ...]
) -> None:
    """Rings for every revision. A segment was retired by the revision after its own, at the same moment."""
    plans = list(build.plans.order_by("revision"))
    for plan, later in zip(plans, [*plans[1:], None], strict=True):
        if later is None:
            own = [segment for segment in segments if segment.lies_on_id is None]
        else:
            own = [s for s in segments if s.lies_on_id is None and s.retired_at and s.retired_at <= later.created_at]
        current = [_planned(segment) for segment in own if segment.retired_at is None] if later is None else []
        rings, built = on_file(PlanParameters.from_json(plan.parameters), current, channels if current else ())
        rows = [ring_model(plan=plan, **{name: getattr(ring, name) for name in ring.__dataclass_fields__}) for ring in rings]
        numbered = {row.number: row for row in ring_model.objects.bulk_create(rows, batch_size=AT_ONCE)}
        for segment in own:
            segment.lies_on = numbered.get(segment.ring) or numbered[max(numbered)]
        if plan.frozen_at is not None:
            plan.built = built.to_json()
            plan.save(update_fields=["built"])


def _planned(row: Row) -> PlannedSegment:
    return PlannedSegment(row.ring, row.piece, row.first_pixel, row.pixels, row.from_deg, row.to_deg, row.closing)


class Migration(migrations.Migration):
    dependencies = [("buildlog", "0007_saved_forecasts")]

    operations = [
        migrations.CreateModel(
            name="Ring",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField()),
                ("polar_deg", models.FloatField()),
                ("height_m", models.FloatField()),
                ("radius_m", models.FloatField()),
                ("circumference_m", models.FloatField()),
                ("pixels", models.PositiveIntegerField()),
                ("seam_gap_m", models.FloatField()),
                ("edge_strain", models.FloatField()),
                ("closing", models.BooleanField(default=False)),
                ("seam_deg", models.FloatField()),
                ("shift_m", models.FloatField()),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="rings", to="buildlog.plan"
                    ),
                ),
            ],
            options={"ordering": ["plan", "number"]},
        ),
        migrations.AddConstraint(
            model_name="ring",
            constraint=models.UniqueConstraint(fields=("plan", "number"), name="one_ring_a_number"),
        ),
        migrations.AddField("plan", "built", models.JSONField(blank=True, default=dict)),
        migrations.AddField(
            "segment",
            "lies_on",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.RESTRICT,
                related_name="segments",
                to="buildlog.ring",
            ),
        ),
        migrations.AddField(
            "run",
            "build",
            models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.CASCADE, related_name="runs", to="buildlog.build"
            ),
        ),
        migrations.AddField("run", "begins", models.PositiveIntegerField(null=True)),
        migrations.RunPython(keep_whole, migrations.RunPython.noop, elidable=False),
    ]
