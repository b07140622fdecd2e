"""Forecasts kept per site, each as it came."""

from django.db import models

from scheduling.models.jobs import Site


class SiteForecast(models.Model):
    """Hours of weather for a site as one provider gave them; `hours` are the engine's own values as JSON."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="forecasts")
    provider = models.CharField(max_length=40)
    fetched_at = models.DateTimeField()
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    hours = models.JSONField()

    class Meta:
        ordering = ["site", "-fetched_at", "-id"]
        indexes = [models.Index(fields=["site", "-fetched_at"], name="forecast_site_fetched")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="forecast_not_empty"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.provider} for {self.site}"
