"""The company's own records, for the office to keep. Pours are booked on their own pages, not here."""

from typing import Any

from django import forms
from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.http import HttpRequest
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from scheduling import models
from scheduling.errors import Refusal
from scheduling.services.ratechange import require_meant


class MeantRate(forms.ModelForm):
    """Asks about a rate that becomes many times what it was."""

    RATES = ("rate_factor", "rate_m3_h")

    confirm_rate = forms.BooleanField(
        required=False, label="The rate is meant, though it is many times what it was, or a small part of it"
    )

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or self.cleaned_data
        for column in self.RATES:
            if column in said and not said["confirm_rate"]:
                try:
                    require_meant(row=self.instance, column=column, becomes=said[column])
                except Refusal as refused:
                    self.add_error(column, refused.message)
        return said


@admin.register(models.User)
class PersonAdmin(UserAdmin):
    list_display = ("username", "first_name", "last_name", "role", "phone", "language", "is_active")
    list_filter = ("role", "is_active")
    # What they agreed to is written down on the page of texts, with who and when.
    readonly_fields = ("texts_agreed_at", "texts_stopped_at", "bad_phone", "bad_phone_at", "bad_phone_reason")
    fieldsets = (
        *(UserAdmin.fieldsets or ()),
        ("At work", {"fields": ("role", "phone", "language", *readonly_fields)}),
    )
    add_fieldsets = (*UserAdmin.add_fieldsets, ("At work", {"fields": ("role", "phone", "language")}))


@admin.register(models.Company)
class CompanyAdmin(admin.ModelAdmin):
    list_display = ("name", "units", "time_zone", "morning_text_at")

    def save_model(self, request: HttpRequest, obj: models.Company, form: Any, change: bool) -> None:
        """Programs that read the settings before must read them again."""
        obj.version += change
        super().save_model(request, obj, form, change)


class WorkerInline(admin.TabularInline):
    model = models.Worker
    extra = 0


class AbsenceInline(admin.TabularInline):
    model = models.Absence
    fields = ("starts_at", "ends_at", "reason")
    extra = 0


@admin.register(models.Absence)
class AbsenceAdmin(admin.ModelAdmin):
    list_display = ("__str__", "worker", "crew", "unit", "starts_at", "ends_at", "reason")
    list_filter = ("crew",)


@admin.register(models.RoadSeason)
class RoadSeasonAdmin(admin.ModelAdmin):
    list_display = ("__str__", "site", "plant", "first_on", "last_on", "limit_kg")


@admin.register(models.Crew)
class CrewAdmin(admin.ModelAdmin):
    form = MeantRate
    list_display = ("name", "lead", "straightedge_m", "rate_factor", "active", "learned")
    inlines = (WorkerInline, AbsenceInline)

    @admin.display(description="How fast it places")
    def learned(self, crew: models.Crew) -> SafeString:
        return format_html('<a href="{}">what is learned</a>', reverse("crew-rates", args=[crew.pk]))


@admin.register(models.Worker)
class WorkerAdmin(admin.ModelAdmin):
    list_display = ("name", "crew", "places", "finishes", "saws", "pumps", "drives", "active")
    inlines = (AbsenceInline,)
    list_filter = ("crew", "active")
    fieldsets = (
        (
            None,
            {
                "fields": (
                    "name",
                    "crew",
                    "user",
                    "phone",
                    "places",
                    "finishes",
                    "saws",
                    "pumps",
                    "drives",
                    "active",
                )
            },
        ),
        ("Heat", {"fields": ("heat_from_on", "heat_before")}),
    )


@admin.register(models.EquipmentUnit)
class EquipmentUnitAdmin(admin.ModelAdmin):
    list_display = ("name", "kind", "crew", "in_service")
    inlines = (AbsenceInline,)
    list_filter = ("kind", "in_service")


class PlantHoursInline(admin.TabularInline):
    model = models.PlantHours
    extra = 0


class PlantClosureInline(admin.TabularInline):
    model = models.PlantClosure
    extra = 0


class PlantOpeningInline(admin.TabularInline):
    model = models.PlantOpening
    extra = 0


class PlantFeeInline(admin.TabularInline):
    model = models.PlantFee
    extra = 0


class MixInline(admin.TabularInline):
    model = models.Mix
    extra = 0


@admin.register(models.Plant)
class PlantAdmin(admin.ModelAdmin):
    form = MeantRate
    list_display = ("name", "phone", "time_zone", "order_cutoff_at", "active")
    inlines = (PlantHoursInline, PlantClosureInline, PlantOpeningInline, PlantFeeInline, MixInline)


class SiteHoursInline(admin.TabularInline):
    model = models.SiteHours
    extra = 0


@admin.register(models.Site)
class SiteAdmin(admin.ModelAdmin):
    inlines = (SiteHoursInline,)
    list_display = ("name", "address", "time_zone")
    search_fields = ("name", "address")


@admin.register(models.Job)
class JobAdmin(admin.ModelAdmin):
    list_display = ("name", "site", "customer_name")
    search_fields = ("name", "customer_name")
