"""Plants with the hours they keep, the days that are otherwise, and what those cost."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction
from django.db.models import Model

from scheduling.models import Plant, PlantClosure, PlantFee, PlantHours, PlantOpening

Rows = Sequence[Mapping[str, Any]]

KEPT_WITH: dict[str, type[Model]] = {
    "hours": PlantHours,
    "closures": PlantClosure,
    "openings": PlantOpening,
    "fees": PlantFee,
}


@transaction.atomic
def keep_plant(*, plant: Plant, **calendar: Rows | None) -> Plant:
    """Keep a plant; hours, closures, openings and fees, where given, take the place of those it had."""
    plant.save()
    for name, rows in calendar.items():
        if rows is not None:
            kind: Any = KEPT_WITH[name]
            getattr(plant, name).all().delete()
            kind.objects.bulk_create(kind(plant=plant, **columns) for columns in rows)
    return plant
