from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.models import F


def ask_evenly(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """What was asked for until now came one by one, evenly."""
    for name in ("Plan", "PlantOrder"):
        apps.get_model("scheduling", name).objects.update(next_after_min=F("interval_min"))


def _fields() -> list[migrations.operations.base.Operation]:
    together = models.PositiveSmallIntegerField(default=1, help_text="Trucks at the start.")
    after = models.PositiveSmallIntegerField(default=0, help_text="From the first ones to the next truck.")
    interval = models.PositiveSmallIntegerField(help_text="From then on, from one to the next.")
    return [
        operation
        for model in ("plan", "plantorder")
        for operation in (
            migrations.AddField(model, "first_together", together),
            migrations.AddField(model, "next_after_min", after, preserve_default=False),
            migrations.AlterField(model, "interval_min", interval),
        )
    ]


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0002_more_ways_of_placing")]

    operations = [
        migrations.RemoveConstraint("plantorder", "order_interval_not_negative"),
        migrations.RemoveConstraint("plantorder", "order_has_concrete"),
        *_fields(),
        migrations.RunPython(ask_evenly, migrations.RunPython.noop),
        migrations.AddConstraint(
            "plantorder",
            models.CheckConstraint(
                condition=models.Q(quantity_m3__gt=0, loads__gte=1, first_together__gte=1),
                name="order_has_concrete",
            ),
        ),
    ]
