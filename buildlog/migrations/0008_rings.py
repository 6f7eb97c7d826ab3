"""A plan is kept whole: its rings, where each run begins, and what is built beside them.

Computed once, from the parameters on file; where that differs from segments and runs, those hold and the plan says so.
"""

import django.db.models.deletion
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

from buildlog.core.plan.on_file import complete

AT_ONCE = 500
MODELS = ("Build", "Plan", "Ring", "Segment", "Run")


def keep_whole(apps: StateApps, _schema_editor: BaseDatabaseSchemaEditor) -> None:
    build_model, plan_model, ring_model, segment_model, run_model = (apps.get_model("buildlog", name) for name in MODELS)
    for build in build_model.objects.all():
        plans = list(build.plans.order_by("revision").values())
        segments = list(build.segments.order_by("ring", "piece").values())
        place = {row["id"]: number for number, row in enumerate(segments, start=1)}
        of_build = run_model.objects.filter(segment__build=build)
        of_build.filter(segment__retired_at__isnull=False).delete()  # nothing reads them
        runs = [row | {"segment": place[row["segment_id"]]} for row in of_build.values()]
        rows = complete(plans, segments, runs)
        rings = [ring_model(**row | {"plan_id": plans[row.pop("plan") - 1]["id"]}) for row in rows]
        rings = ring_model.objects.bulk_create(rings, batch_size=AT_ONCE)
        on_rings = [segment_model(id=row["id"], lies_on=rings[row["lies_on"] - 1]) for row in segments]
        segment_model.objects.bulk_update(on_rings, ["lies_on"], batch_size=AT_ONCE)
        placed = [run_model(id=row["id"], build=build, begins=row["begins"]) for row in runs]
        run_model.objects.bulk_update(placed, ["build", "begins"], batch_size=AT_ONCE)
        for row in plans:  # 0011 puts the wiring into a column of its own
            plan_model.objects.filter(id=row["id"]).update(built={**row["built"], **row.get("wiring", {})})


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
