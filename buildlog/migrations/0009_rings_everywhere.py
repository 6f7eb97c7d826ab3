"""Every segment lies on a ring, every run begins somewhere; a pixel of a channel is found in one step."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("buildlog", "0008_rings")]

    operations = [
        migrations.RemoveIndex(model_name="run", name="buildlog_ru_channel_a63e7b_idx"),
        migrations.AlterField(
            "segment",
            "lies_on",
            models.ForeignKey(
                on_delete=django.db.models.deletion.RESTRICT, related_name="segments", to="buildlog.ring"
            ),
        ),
        migrations.AlterField(
            "run",
            "build",
            models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="runs", to="buildlog.build"
            ),
        ),
        migrations.AlterField("run", "begins", models.PositiveIntegerField()),
        migrations.AddConstraint(
            model_name="run",
            constraint=models.UniqueConstraint(fields=("build", "channel", "begins"), name="one_run_a_pixel"),
        ),
    ]
