"""When the clock last ticked."""

from django.db import models


class Heartbeat(models.Model):
    """The last turn the timetable's own task took; the table holds a single row."""

    at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="heartbeat_is_one")]

    def __str__(self) -> str:
        return f"the clock ticked at {self.at}"
