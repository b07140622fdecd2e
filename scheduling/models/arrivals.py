"""How a plant is asked for the trucks of a pour."""

from django.db import models


class AskedArrivals(models.Model):
    """So many trucks at the start, the next after so many minutes, then one every so many."""

    first_together = models.PositiveSmallIntegerField(default=1, help_text="Trucks at the start.")
    next_after_min = models.PositiveSmallIntegerField(help_text="From the first ones to the next truck.")
    interval_min = models.PositiveSmallIntegerField(help_text="From then on, from one to the next.")

    class Meta:
        abstract = True
