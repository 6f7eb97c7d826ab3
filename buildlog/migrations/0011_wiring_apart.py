"""What is built lies apart from how it is wired, and a run has one place: where it begins in its channel."""

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

WIRING = ("channels", "supplies")


def put_apart(apps: StateApps, _schema_editor: BaseDatabaseSchemaEditor) -> None:
    for plan in apps.get_model("buildlog", "Plan").objects.exclude(frozen_at=None):
        plan.wiring = {name: plan.built.pop(name) for name in WIRING}
        plan.save(update_fields=["built", "wiring"])


class Migration(migrations.Migration):
    dependencies = [("buildlog", "0010_installation")]

    operations = [
        migrations.AddField("plan", "wiring", models.JSONField(blank=True, default=dict)),
        migrations.RunPython(put_apart, migrations.RunPython.noop, elidable=False),
        migrations.AlterModelOptions("run", options={"ordering": ["channel", "begins"]}),
        migrations.RemoveField("run", "position"),
    ]
