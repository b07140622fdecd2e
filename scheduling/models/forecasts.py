"""Forecasts kept per site, each as it came, and how the asking for them stands."""

from django.db import models

from scheduling.models.jobs import Site

MADE_UP = "sample"  # the demo's weather: it stands for a fresh forecast on whatever day it is looked at


class SiteForecast(models.Model):
    """Hours of weather for a site as one provider gave them; `hours` are the engine's own values as JSON.

    `fetched_at` is when the provider last said so: the same hours said again are not kept twice.
    """

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


class ForecastWatch(models.Model):
    """A site whose forecast is asked for on the web: when next, and how it went last.

    `next_try_at` is empty while no pour there needs one. `spot` is where it was last asked for.
    """

    site = models.OneToOneField(Site, on_delete=models.CASCADE, related_name="watch")
    spot = models.CharField(max_length=40, blank=True)
    next_try_at = models.DateTimeField(null=True, blank=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    failures = models.PositiveSmallIntegerField(default=0, help_text="Since it last went well.")
    failed_at = models.DateTimeField(null=True, blank=True)
    failure = models.CharField(max_length=300, blank=True, help_text="Why the last try gave no forecast.")

    class Meta:
        ordering = ["site"]
        verbose_name_plural = "forecast watches"
        indexes = [models.Index(fields=["next_try_at"], name="watch_next_try")]

    def __str__(self) -> str:
        return f"forecast watch of {self.site}"


class WeatherPage(models.Model):
    """A good page of a weather service, kept so that it is asked for again only if it has changed."""

    url = models.CharField(max_length=500, unique=True)
    body = models.TextField()
    etag = models.CharField(max_length=200, blank=True)
    last_modified = models.CharField(max_length=200, blank=True)
    checked_at = models.DateTimeField()
    fresh_until = models.DateTimeField()

    class Meta:
        ordering = ["url"]
        indexes = [models.Index(fields=["checked_at"], name="weather_page_checked")]

    def __str__(self) -> str:
        return self.url
