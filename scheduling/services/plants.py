"""Plants with the hours they keep and the days they are shut."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction

from scheduling.models import Plant, PlantClosure, PlantHours

Rows = Sequence[Mapping[str, Any]]


@transaction.atomic
def keep_plant(*, plant: Plant, hours: Rows | None = None, closures: Rows | None = None) -> Plant:
    """Keep a plant; hours and closures, where given, take the place of those it had."""
    plant.save()
    if hours is not None:
        plant.hours.all().delete()
        PlantHours.objects.bulk_create(PlantHours(plant=plant, **columns) for columns in hours)
    if closures is not None:
        plant.closures.all().delete()
        PlantClosure.objects.bulk_create(PlantClosure(plant=plant, **columns) for columns in closures)
    return plant
