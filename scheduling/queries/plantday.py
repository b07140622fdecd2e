"""What else of ours a plant has to load around the time of a pour."""

from datetime import datetime, timedelta

from scheduling import bridge
from scheduling.engine.inputs import Window
from scheduling.engine.queueing import plant_windows
from scheduling.models import STANDING, Company, Pour

AROUND = timedelta(hours=18)  # no pour's trucks are loaded that long before or after it starts


def plant_busy(pour: Pour, company: Company) -> tuple[Window, ...]:
    """When the pour's plant loads trucks of our other standing pours, as their plans stand, in order.

    Whatever is planned goes first. The pour itself need not be kept.
    """
    if pour.plant.pk is None:
        return ()
    others = Pour.objects.filter(plant=pour.plant, state__in=STANDING, plan__isnull=False).exclude(pk=pour.pk)
    near = others.filter(starts_at__gt=pour.starts_at - AROUND, starts_at__lt=pour.starts_at + AROUND)
    loads = dict(near.values_list("pk", "plan__result__delivery__loads"))
    rows = list(near.select_related("job__site"))
    for other in rows:
        other.plant = pour.plant  # the same one, whose calendar is looked up once
    windows = (window for other in rows for window in _windows(other, loads[other.pk], company))
    return tuple(sorted(windows, key=lambda window: window.opens_at))


def _windows(pour: Pour, loads: list[dict[str, str | float]], company: Company) -> tuple[Window, ...]:
    batches_at = [datetime.fromisoformat(str(load["batch_at"])) for load in loads]
    loads_m3 = [float(load["m3"]) for load in loads]
    return plant_windows(batches_at, loads_m3, bridge.engine_supply(pour, company))
