from django.apps import AppConfig
from django.core.checks import register

from scheduling.checks import settings_make_sense


class SchedulingConfig(AppConfig):
    name = "scheduling"
    default_auto_field = "django.db.models.BigAutoField"
    verbose_name = "Pours and crews"

    def ready(self) -> None:
        register(settings_make_sense)
