import datetime
import django.contrib.auth.models
import django.contrib.auth.validators
import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import phonenumber_field.modelfields
import scheduling.models.company
import scheduling.models.jobs
import scheduling.models.plants
import scheduling.models.pours
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    replaces = [
        ("scheduling", "0001_company_pours_plans_and_texts"),
        ("scheduling", "0002_more_ways_of_placing"),
        ("scheduling", "0003_trucks_asked_together"),
        ("scheduling", "0004_hours_for_loud_work"),
        ("scheduling", "0005_more_of_the_placing_and_what_it_costs"),
        ("scheduling", "0006_replies_consent_and_heartbeat"),
        ("scheduling", "0007_forecasts_from_the_web"),
        ("scheduling", "0008_limits_and_evening_warnings"),
        ("scheduling", "0009_notes_from_the_site"),
        ("scheduling", "0010_word_of_the_answered_text"),
        ("scheduling", "0011_what_a_text_said_of_its_pour"),
        ("scheduling", "0012_ingredients_and_shade"),
        ("scheduling", "0013_quiet_hours_and_cylinders"),
        ("scheduling", "0014_weeks_proposed"),
        ("scheduling", "0015_calcium_chloride"),
        ("scheduling", "0016_urgent_texts"),
        ("scheduling", "0017_blankets"),
        ("scheduling", "0018_days_opened_by_link"),
        ("scheduling", "0019_spotter_and_decorative"),
        ("scheduling", "0020_the_day_feeds_the_plan"),
        ("scheduling", "0021_calendar_links"),
        ("scheduling", "0022_booked_once"),
        ("scheduling", "0023_rules_of_the_week"),
    ]

    initial = True

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [
        migrations.CreateModel(
            name="Job",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                ("customer_name", models.CharField(blank=True, max_length=120)),
                (
                    "customer_phone",
                    phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None),
                ),
                ("notes", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["name", "id"],
            },
        ),
        migrations.CreateModel(
            name="SendingMinute",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("starts_at", models.DateTimeField(unique=True)),
                ("taken", models.PositiveIntegerField(default=0)),
            ],
            options={
                "ordering": ["-starts_at"],
            },
        ),
        migrations.CreateModel(
            name="User",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        error_messages={"unique": "A user with that username already exists."},
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        unique=True,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="username",
                    ),
                ),
                ("first_name", models.CharField(blank=True, max_length=150, verbose_name="first name")),
                ("last_name", models.CharField(blank=True, max_length=150, verbose_name="last name")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="email address")),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False,
                        help_text="Designates whether the user can log into this admin site.",
                        verbose_name="staff status",
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                (
                    "date_joined",
                    models.DateTimeField(default=django.utils.timezone.now, verbose_name="date joined"),
                ),
                (
                    "role",
                    models.CharField(
                        choices=[
                            ("office", "office"),
                            ("dispatcher", "dispatcher"),
                            ("crew_lead", "crew lead"),
                        ],
                        default="office",
                        max_length=20,
                    ),
                ),
                (
                    "phone",
                    phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None),
                ),
                (
                    "language",
                    models.CharField(
                        choices=[("en", "English"), ("es", "Español")], default="en", max_length=5
                    ),
                ),
                (
                    "texts_stopped_at",
                    models.DateTimeField(
                        blank=True, help_text="When they asked for no more texts.", null=True
                    ),
                ),
                (
                    "texts_agreed_at",
                    models.DateTimeField(
                        blank=True,
                        help_text="When they agreed to get texts; without it none are sent.",
                        null=True,
                    ),
                ),
                (
                    "bad_phone",
                    phonenumber_field.modelfields.PhoneNumberField(
                        blank=True, help_text="A number that texts cannot reach.", max_length=128, region=None
                    ),
                ),
                ("bad_phone_at", models.DateTimeField(blank=True, null=True)),
                ("bad_phone_reason", models.CharField(blank=True, max_length=300)),
                (
                    "groups",
                    models.ManyToManyField(
                        blank=True,
                        help_text="The groups this user belongs to. A user will get all permissions granted to each of their groups.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.group",
                        verbose_name="groups",
                    ),
                ),
                (
                    "user_permissions",
                    models.ManyToManyField(
                        blank=True,
                        help_text="Specific permissions for this user.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.permission",
                        verbose_name="user permissions",
                    ),
                ),
            ],
            options={
                "ordering": ["username"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("role__in", ["office", "dispatcher", "crew_lead"])),
                        name="user_role_known",
                    )
                ],
            },
            managers=[
                ("objects", django.contrib.auth.models.UserManager()),
            ],
        ),
        migrations.CreateModel(
            name="CalendarLink",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("last_used_at", models.DateTimeField(blank=True, null=True)),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="calendar_links",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["person", "-made_at", "-id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("revoked_at__isnull", True)),
                        fields=("person",),
                        name="calendar_link_one_that_opens",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Company",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                (
                    "units",
                    models.CharField(
                        choices=[("us", "US customary"), ("metric", "Metric")], default="us", max_length=10
                    ),
                ),
                (
                    "time_zone",
                    models.CharField(
                        default="America/Chicago",
                        max_length=64,
                        validators=[scheduling.models.company.validate_time_zone],
                    ),
                ),
                ("allowance_percent", models.FloatField(default=5.0)),
                (
                    "call_lead_min",
                    models.PositiveSmallIntegerField(
                        default=60, help_text="How long before the first truck the crew stands on site."
                    ),
                ),
                (
                    "age_limit_min",
                    models.PositiveSmallIntegerField(
                        default=90,
                        help_text="From water meeting cement to the end of discharge, unless the order says less.",
                    ),
                ),
                ("currency_sign", models.CharField(default="$", max_length=4)),
                (
                    "crew_per_h",
                    models.FloatField(
                        default=250.0, help_text="What an hour of a whole crew standing costs."
                    ),
                ),
                (
                    "truck_per_h",
                    models.FloatField(
                        default=30.0,
                        help_text="What an hour of a waiting truck is worth to us, beside the plant's own fee.",
                    ),
                ),
                (
                    "rejected_load_cost",
                    models.FloatField(
                        default=1500.0,
                        help_text="A load that got too old: its concrete, getting rid of it, another.",
                    ),
                ),
                (
                    "cold_joint_cost",
                    models.FloatField(
                        default=5000.0, help_text="A joint in the wrong place, to cut out or live with."
                    ),
                ),
                (
                    "overtime_per_h",
                    models.FloatField(
                        default=125.0, help_text="What an hour of overtime costs beyond an hour of the crew."
                    ),
                ),
                (
                    "overtime_from",
                    models.TimeField(
                        blank=True,
                        help_text="On the site's own clock; empty: no overtime is paid.",
                        null=True,
                    ),
                ),
                (
                    "morning_text_at",
                    models.TimeField(default=datetime.time(5, 30), help_text="On the site's own clock."),
                ),
                (
                    "evening_text_at",
                    models.TimeField(
                        default=datetime.time(16, 30),
                        help_text="When people are told of trouble on the next day, by the site's clock.",
                    ),
                ),
                (
                    "quiet_from",
                    models.TimeField(
                        default=datetime.time(21, 0),
                        help_text="No texts from then on by the reader's clock, but for safety and work.",
                    ),
                ),
                (
                    "quiet_until",
                    models.TimeField(
                        default=datetime.time(4, 0),
                        help_text="Until then; who is called earlier is told the evening before.",
                    ),
                ),
                (
                    "office_opens_at",
                    models.TimeField(default=datetime.time(7, 0), help_text="On the company's own clock."),
                ),
                (
                    "office_closes_at",
                    models.TimeField(
                        default=datetime.time(17, 0), help_text="When the office is reminded no more."
                    ),
                ),
                (
                    "office_saturdays",
                    models.BooleanField(default=False, help_text="The office works on Saturdays."),
                ),
                (
                    "holiday_country",
                    models.CharField(
                        blank=True,
                        help_text="Whose holidays count, as US; empty: none are known.",
                        max_length=2,
                        validators=[scheduling.models.company.validate_holiday_country],
                    ),
                ),
                (
                    "holiday_state",
                    models.CharField(
                        blank=True,
                        help_text="Its state or province, as KS; empty: the country's own alone.",
                        max_length=5,
                    ),
                ),
                (
                    "longest_day_h",
                    models.FloatField(
                        blank=True,
                        default=12.0,
                        help_text="Most hours of work in a day; empty: no limit.",
                        null=True,
                    ),
                ),
                (
                    "least_rest_h",
                    models.FloatField(
                        blank=True,
                        default=8.0,
                        help_text="Least hours from one day's work to the next; empty: no limit.",
                        null=True,
                    ),
                ),
                (
                    "answer_lead_min",
                    models.PositiveSmallIntegerField(
                        default=15,
                        help_text="How long before the crew stands on site its lead must have answered the morning text; otherwise dispatch is told.",
                    ),
                ),
                (
                    "relief_after_h",
                    models.FloatField(
                        default=14.0,
                        help_text="So long after the crew came, relief is asked for whoever still finishes.",
                    ),
                ),
                (
                    "unattended_every_min",
                    models.PositiveSmallIntegerField(
                        default=45,
                        help_text="How often somebody is called about a slab whose finishing nobody has noted as done.",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "company",
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("pk", 1)), name="company_is_one"),
                    models.CheckConstraint(
                        condition=models.Q(("allowance_percent__gte", 0), ("allowance_percent__lte", 50)),
                        name="company_allowance_sensible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("age_limit_min__gt", 0)), name="company_age_limit_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("relief_after_h__gte", 1), ("relief_after_h__lte", 36)),
                        name="company_relief_sensible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("unattended_every_min__gte", 30), ("unattended_every_min__lte", 60)
                        ),
                        name="company_unattended_half_hour_to_hour",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("office_closes_at__gt", models.F("office_opens_at"))),
                        name="company_office_hours_in_order",
                        violation_error_message="The office closes after it opens, on the same day.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cold_joint_cost__gte", 0),
                            ("crew_per_h__gte", 0),
                            ("overtime_per_h__gte", 0),
                            ("rejected_load_cost__gte", 0),
                            ("truck_per_h__gte", 0),
                        ),
                        name="company_costs_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("longest_day_h__isnull", True),
                            models.Q(("longest_day_h__gt", 0), ("longest_day_h__lte", 24)),
                            _connector="OR",
                        ),
                        name="company_longest_day_h_sensible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("least_rest_h__isnull", True),
                            models.Q(("least_rest_h__gt", 0), ("least_rest_h__lte", 24)),
                            _connector="OR",
                        ),
                        name="company_least_rest_h_sensible",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Consent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("agreed", "agreed to get texts"),
                            ("stopped", "asked for no texts"),
                            ("started", "asked for texts again"),
                        ],
                        max_length=8,
                    ),
                ),
                (
                    "way",
                    models.CharField(
                        choices=[
                            ("in_person", "told us"),
                            ("on_paper", "signed a form"),
                            ("by_text", "by text"),
                            ("by_service", "the text service told us"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "phone",
                    phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None),
                ),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        blank=True,
                        help_text="Who wrote it down; nobody where the person did it by text.",
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="consents_recorded",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="consents",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["agreed", "stopped", "started"])),
                        name="consent_kind_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("way__in", ["in_person", "on_paper", "by_text", "by_service"])),
                        name="consent_way_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Crew",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=60, unique=True)),
                (
                    "straightedge_m",
                    models.FloatField(
                        default=4.27, help_text="Length of the straightedge they strike off with."
                    ),
                ),
                (
                    "rate_factor",
                    models.FloatField(
                        default=1.0,
                        help_text="How fast they place against the default rates: 1.1 is a tenth faster.",
                    ),
                ),
                ("active", models.BooleanField(default=True)),
                (
                    "lead",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="crew_led",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("straightedge_m__gt", 0)), name="crew_straightedge_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("rate_factor__gt", 0), ("rate_factor__lte", 5)),
                        name="crew_rate_factor_sensible",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="DayLink",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("day", models.DateField(help_text="On the clock of the day's sites.")),
                ("nonce", models.CharField(max_length=32)),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("ends_at", models.DateTimeField()),
                ("last_used_at", models.DateTimeField(blank=True, null=True)),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                (
                    "crew",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="day_links",
                        to="scheduling.crew",
                    ),
                ),
                (
                    "lead",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="day_links",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "revoked_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["day", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("revoked_at__isnull", True)),
                        fields=("crew", "lead", "day"),
                        name="day_link_one_that_opens",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="EquipmentUnit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=60, unique=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("saw", "saw"),
                            ("early_entry_saw", "early-entry saw"),
                            ("walk_behind_trowel", "walk-behind trowel"),
                            ("ride_on_trowel", "ride-on trowel"),
                            ("straightedge", "straightedge"),
                            ("vibrating_screed", "vibrating screed"),
                            ("laser_screed", "laser screed"),
                            ("extension_chute", "extension chute"),
                        ],
                        max_length=20,
                    ),
                ),
                ("in_service", models.BooleanField(default=True)),
                (
                    "crew",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="equipment",
                        to="scheduling.crew",
                    ),
                ),
            ],
            options={
                "ordering": ["kind", "name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "saw",
                                    "early_entry_saw",
                                    "walk_behind_trowel",
                                    "ride_on_trowel",
                                    "straightedge",
                                    "vibrating_screed",
                                    "laser_screed",
                                    "extension_chute",
                                ],
                            )
                        ),
                        name="equipment_kind_known",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Heartbeat",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("pk", 1)), name="heartbeat_is_one")
                ],
            },
        ),
        migrations.CreateModel(
            name="Message",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=120, unique=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("morning", "morning assignment"),
                            ("reminder", "reminder"),
                            ("change", "change of plan"),
                            ("call_off", "hold or call-off"),
                            ("dispatch", "word to dispatch"),
                            ("day_link", "link to the day"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "is_urgent",
                    models.BooleanField(default=False, help_text="Goes first, and no brake holds it."),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("queued", "waiting to be sent"),
                            ("sending", "being sent"),
                            ("sent", "sent"),
                            ("delivered", "delivered"),
                            ("failed", "could not be sent"),
                            ("expired", "no longer useful, not sent"),
                            ("withheld", "not sent: they asked for no texts"),
                            ("unknown", "perhaps sent: look before sending again"),
                        ],
                        default="queued",
                        max_length=10,
                    ),
                ),
                (
                    "phone",
                    phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None),
                ),
                (
                    "language",
                    models.CharField(
                        choices=[("en", "English"), ("es", "Español")], default="en", max_length=5
                    ),
                ),
                ("body", models.TextField()),
                ("made_at", models.DateTimeField()),
                ("due_at", models.DateTimeField()),
                ("useful_until", models.DateTimeField()),
                ("next_try_at", models.DateTimeField()),
                ("tries", models.PositiveSmallIntegerField(default=0)),
                ("claimed_at", models.DateTimeField(blank=True, null=True)),
                ("sent_at", models.DateTimeField(blank=True, null=True)),
                ("delivered_at", models.DateTimeField(blank=True, null=True)),
                (
                    "gateway_key",
                    models.CharField(
                        blank=True, db_index=True, help_text="What the gateway calls it.", max_length=120
                    ),
                ),
                (
                    "reason",
                    models.CharField(blank=True, help_text="Why it was not sent, or failed.", max_length=300),
                ),
                (
                    "answer",
                    models.CharField(
                        blank=True, choices=[("yes", "yes"), ("no", "no"), ("done", "done")], max_length=4
                    ),
                ),
                ("answered_at", models.DateTimeField(blank=True, null=True)),
                (
                    "resends",
                    models.PositiveSmallIntegerField(
                        default=0, help_text="How often a person sent it again."
                    ),
                ),
                ("decided_at", models.DateTimeField(blank=True, null=True)),
                (
                    "decided_by",
                    models.ForeignKey(
                        blank=True,
                        help_text="Who said what became of it when nobody knew.",
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="texts_decided",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "recipient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="messages",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-due_at", "-id"],
                "indexes": [
                    models.Index(fields=["state", "next_try_at"], name="message_state_next_try"),
                    models.Index(fields=["recipient", "sent_at"], name="message_recipient_sent"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "state__in",
                                [
                                    "queued",
                                    "sending",
                                    "sent",
                                    "delivered",
                                    "failed",
                                    "expired",
                                    "withheld",
                                    "unknown",
                                ],
                            )
                        ),
                        name="message_state_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("useful_until__gt", models.F("due_at"))),
                        name="message_window_not_empty",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Plan",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "first_together",
                    models.PositiveSmallIntegerField(default=1, help_text="Trucks at the start."),
                ),
                (
                    "next_after_min",
                    models.PositiveSmallIntegerField(help_text="From the first ones to the next truck."),
                ),
                (
                    "interval_min",
                    models.PositiveSmallIntegerField(help_text="From then on, from one to the next."),
                ),
                ("number", models.PositiveIntegerField()),
                ("pour_version", models.PositiveIntegerField()),
                ("made_at", models.DateTimeField()),
                ("inputs", models.JSONField()),
                ("result", models.JSONField()),
                ("call_at", models.DateTimeField(help_text="When the crew stands on site.")),
                ("starts_at", models.DateTimeField()),
                ("placed_at", models.DateTimeField(help_text="When the last load is out.")),
                ("order_m3", models.FloatField()),
                ("loads", models.PositiveSmallIntegerField()),
                (
                    "worst",
                    models.CharField(
                        choices=[("note", "note"), ("caution", "caution"), ("stop", "stop")], max_length=8
                    ),
                ),
                (
                    "made_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["pour", "-number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("placed_at__gt", models.F("starts_at"))), name="plan_not_empty"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("loads__gte", 1), ("order_m3__gt", 0)), name="plan_has_concrete"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlanPhase",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[("place", "place"), ("finish", "finish"), ("cut", "cut"), ("cure", "cure")],
                        max_length=8,
                    ),
                ),
                ("starts_at", models.DateTimeField()),
                ("ends_at", models.DateTimeField()),
                ("people", models.PositiveSmallIntegerField()),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="phases",
                        to="scheduling.plan",
                    ),
                ),
            ],
            options={
                "ordering": ["plan", "starts_at", "id"],
                "indexes": [models.Index(fields=["starts_at", "ends_at"], name="phase_window")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("ends_at__gt", models.F("starts_at"))), name="phase_not_empty"
                    ),
                    models.CheckConstraint(condition=models.Q(("people__gte", 1)), name="phase_has_people"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Plant",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120, unique=True)),
                (
                    "phone",
                    phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None),
                ),
                (
                    "time_zone",
                    models.CharField(
                        default="America/Chicago",
                        max_length=64,
                        validators=[scheduling.models.company.validate_time_zone],
                    ),
                ),
                (
                    "truck_m3",
                    models.FloatField(default=7.64554857984, help_text="What one of its trucks carries."),
                ),
                ("payload_kg", models.FloatField(blank=True, null=True)),
                ("truck_empty_kg", models.FloatField(blank=True, null=True)),
                (
                    "trucks",
                    models.PositiveSmallIntegerField(
                        blank=True, help_text="Most trucks it will send one pour.", null=True
                    ),
                ),
                (
                    "order_step_m3",
                    models.FloatField(default=0.191138714496, help_text="It sells in steps of this."),
                ),
                (
                    "minimum_load_m3",
                    models.FloatField(default=0.0, help_text="A load below this costs a fee."),
                ),
                (
                    "rate_m3_h",
                    models.FloatField(blank=True, help_text="Most it can batch in an hour.", null=True),
                ),
                ("loading_min", models.FloatField(default=5.0)),
                ("usual_haul_min", models.FloatField(default=25.0)),
                ("washout_min", models.FloatField(default=5.0)),
                ("age_limit_min", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "late_sd_min",
                    models.FloatField(
                        blank=True,
                        help_text="How far its trucks stray from their times, as a standard deviation in minutes.",
                        null=True,
                    ),
                ),
                (
                    "wait_price",
                    models.FloatField(
                        blank=True,
                        help_text="What it charges for a truck kept too long, for each block of minutes; empty: as is usual.",
                        null=True,
                    ),
                ),
                (
                    "wait_block_min",
                    models.FloatField(default=1.0, help_text="Minutes in a block: 1, or 60 by the hour."),
                ),
                (
                    "wait_counted",
                    models.CharField(
                        choices=[
                            ("exact", "to the minute"),
                            ("started", "every block begun"),
                            ("full", "only full blocks"),
                        ],
                        default="exact",
                        max_length=10,
                    ),
                ),
                (
                    "wait_free_min",
                    models.FloatField(default=0.0, help_text="Minutes on site that every truck has free."),
                ),
                (
                    "wait_free_min_per_m3",
                    models.FloatField(
                        default=0.0, help_text="Minutes free for each m³ it brings: 7 a yard are 9.16."
                    ),
                ),
                (
                    "order_cutoff_at",
                    models.TimeField(
                        default=datetime.time(15, 0),
                        help_text="Orders for tomorrow by this time on its last open day before.",
                    ),
                ),
                (
                    "open_on_holidays",
                    models.BooleanField(
                        blank=True,
                        help_text="Whether it batches on public holidays; empty: not known, and to be asked.",
                        null=True,
                    ),
                ),
                ("active", models.BooleanField(default=True)),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("truck_m3__gt", 0), ("truck_m3__lte", 20)),
                        name="plant_truck_sensible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("order_step_m3__gt", 0)), name="plant_order_step_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("minimum_load_m3__gte", 0)), name="plant_minimum_not_negative"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("loading_min__gte", 0), ("usual_haul_min__gte", 0), ("washout_min__gte", 0)
                        ),
                        name="plant_minutes_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("late_sd_min__isnull", True),
                            models.Q(("late_sd_min__gte", 0), ("late_sd_min__lte", 120)),
                            _connector="OR",
                        ),
                        name="plant_lateness_sensible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("wait_price__isnull", True), ("wait_price__gte", 0), _connector="OR"
                        ),
                        name="plant_wait_price_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("wait_block_min__gt", 0),
                            ("wait_free_min__gte", 0),
                            ("wait_free_min_per_m3__gte", 0),
                        ),
                        name="plant_wait_rule_sensible",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Mix",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=40)),
                ("strength_mpa", models.FloatField()),
                ("aggregate_mm", models.FloatField()),
                ("density_kg_m3", models.FloatField(default=2400.0)),
                (
                    "cement_kg_m3",
                    models.FloatField(
                        blank=True,
                        help_text="Cementing material in a m³; empty: an ordinary mix's.",
                        null=True,
                    ),
                ),
                (
                    "water_kg_m3",
                    models.FloatField(blank=True, help_text="All the mixing water in a m³.", null=True),
                ),
                (
                    "aggregate_kg_m3",
                    models.FloatField(blank=True, help_text="Sand and stone in a m³, dry.", null=True),
                ),
                ("fly_ash_fraction", models.FloatField(default=0.0)),
                ("slag_fraction", models.FloatField(default=0.0)),
                ("silica_fume", models.BooleanField(default=False)),
                (
                    "calcium_chloride_fraction",
                    models.FloatField(
                        default=0.0, help_text="Of the cementing material, by weight; at most 0.02."
                    ),
                ),
                (
                    "admixtures",
                    models.JSONField(
                        blank=True, default=list, validators=[scheduling.models.plants.validate_admixtures]
                    ),
                ),
                ("active", models.BooleanField(default=True)),
                (
                    "plant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="mixes",
                        to="scheduling.plant",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "mixes",
                "ordering": ["plant", "code"],
                "constraints": [
                    models.UniqueConstraint(fields=("plant", "code"), name="mix_code_once_a_plant"),
                    models.CheckConstraint(
                        condition=models.Q(("aggregate_mm__gt", 0), ("strength_mpa__gt", 0)),
                        name="mix_numbers_positive",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("density_kg_m3__gte", 1000), ("density_kg_m3__lte", 4000)),
                        name="mix_density_sensible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cement_kg_m3__isnull", True),
                            models.Q(("cement_kg_m3__gt", 0), ("cement_kg_m3__lte", 1000)),
                            _connector="OR",
                        ),
                        name="mix_cement_kg_m3_sensible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("water_kg_m3__isnull", True),
                            models.Q(("water_kg_m3__gt", 0), ("water_kg_m3__lte", 500)),
                            _connector="OR",
                        ),
                        name="mix_water_kg_m3_sensible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("aggregate_kg_m3__isnull", True),
                            models.Q(("aggregate_kg_m3__gt", 0), ("aggregate_kg_m3__lte", 3000)),
                            _connector="OR",
                        ),
                        name="mix_aggregate_kg_m3_sensible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("calcium_chloride_fraction__gte", 0),
                            ("calcium_chloride_fraction__lte", 0.02),
                            ("fly_ash_fraction__gte", 0),
                            ("fly_ash_fraction__lte", 0.7),
                            ("slag_fraction__gte", 0),
                            ("slag_fraction__lte", 0.9),
                        ),
                        name="mix_fractions_sensible",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlantClosure",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("on", models.DateField()),
                ("reason", models.CharField(blank=True, max_length=120)),
                (
                    "plant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="closures",
                        to="scheduling.plant",
                    ),
                ),
            ],
            options={
                "ordering": ["on"],
                "constraints": [
                    models.UniqueConstraint(fields=("plant", "on"), name="plant_closure_once_a_day")
                ],
            },
        ),
        migrations.CreateModel(
            name="PlantFee",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "day",
                    models.CharField(
                        choices=[
                            ("saturday", "Saturdays"),
                            ("sunday", "Sundays"),
                            ("holiday", "public holidays"),
                        ],
                        max_length=10,
                    ),
                ),
                ("flat", models.FloatField(default=0.0)),
                ("per_m3", models.FloatField(default=0.0, help_text="10 a yard are 13.08.")),
                (
                    "plant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="fees",
                        to="scheduling.plant",
                    ),
                ),
            ],
            options={
                "ordering": ["plant", "day"],
                "constraints": [
                    models.UniqueConstraint(fields=("plant", "day"), name="plant_fee_once_a_day"),
                    models.CheckConstraint(
                        condition=models.Q(("day__in", ["saturday", "sunday", "holiday"])),
                        name="plant_fee_day_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("flat__gte", 0), ("per_m3__gte", 0)),
                        name="plant_fee_not_negative",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlantHours",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("weekday", models.PositiveSmallIntegerField()),
                ("opens_at", models.TimeField()),
                ("closes_at", models.TimeField()),
                (
                    "last_batch_at",
                    models.TimeField(
                        blank=True,
                        help_text="It batches the last load by then; empty: until it closes.",
                        null=True,
                    ),
                ),
                (
                    "plant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="hours",
                        to="scheduling.plant",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "plant hours",
                "ordering": ["plant", "weekday"],
                "constraints": [
                    models.UniqueConstraint(fields=("plant", "weekday"), name="plant_hours_once_a_weekday"),
                    models.CheckConstraint(
                        condition=models.Q(("weekday__lte", 6)), name="plant_hours_weekday_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("closes_at__gt", models.F("opens_at"))),
                        name="plant_hours_not_empty",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("last_batch_at__isnull", True),
                            models.Q(
                                ("last_batch_at__gt", models.F("opens_at")),
                                ("last_batch_at__lte", models.F("closes_at")),
                            ),
                            _connector="OR",
                        ),
                        name="plant_last_batch_within_hours",
                        violation_error_message="The last load is batched while the plant is open.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlantOpening",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("on", models.DateField()),
                ("opens_at", models.TimeField()),
                ("closes_at", models.TimeField(help_text="The last load is batched by then.")),
                (
                    "plant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="openings",
                        to="scheduling.plant",
                    ),
                ),
            ],
            options={
                "ordering": ["on"],
                "constraints": [
                    models.UniqueConstraint(fields=("plant", "on"), name="plant_opening_once_a_day"),
                    models.CheckConstraint(
                        condition=models.Q(("closes_at__gt", models.F("opens_at"))),
                        name="plant_opening_not_empty",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Pour",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("title", models.CharField(blank=True, max_length=120)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("booked", "booked"),
                            ("on_hold", "on hold"),
                            ("placed", "placed"),
                            ("cancelled", "cancelled"),
                        ],
                        default="booked",
                        max_length=12,
                    ),
                ),
                ("version", models.PositiveIntegerField(default=1)),
                ("starts_at", models.DateTimeField()),
                (
                    "concrete_c",
                    models.FloatField(
                        blank=True,
                        help_text="As delivered; empty: by its ingredients, else from the air.",
                        null=True,
                    ),
                ),
                (
                    "water_c",
                    models.FloatField(
                        blank=True,
                        help_text="Of the mixing water.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(85),
                        ],
                    ),
                ),
                (
                    "aggregate_c",
                    models.FloatField(
                        blank=True,
                        help_text="Of sand and stone.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(-20),
                            django.core.validators.MaxValueValidator(80),
                        ],
                    ),
                ),
                (
                    "ice_kg_m3",
                    models.FloatField(
                        default=0.0,
                        help_text="What of the mixing water goes in as ice, in a m³.",
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(150),
                        ],
                    ),
                ),
                ("age_limit_min", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("trucks", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("haul_min", models.FloatField(blank=True, null=True)),
                (
                    "allowance_kind",
                    models.CharField(
                        choices=[("percent", "percent"), ("depth", "depth"), ("spread", "spread")],
                        default="percent",
                        max_length=10,
                    ),
                ),
                (
                    "allowance_value",
                    models.FloatField(
                        default=5.0,
                        help_text="Percent, metres of depth, or the confidence wanted of the spread.",
                    ),
                ),
                ("hold_last_load", models.BooleanField(default=True)),
                ("people", models.PositiveSmallIntegerField(default=5)),
                (
                    "spotter",
                    models.CharField(
                        blank=True,
                        help_text="Who guides trucks that must back, and is not at the chute.",
                        max_length=60,
                    ),
                ),
                (
                    "method",
                    models.CharField(
                        choices=[
                            ("chute", "chute"),
                            ("extended_chute", "extended chute"),
                            ("barrow", "barrow"),
                            ("power_buggy", "power buggy"),
                            ("line_pump", "line pump"),
                            ("boom_pump", "boom pump"),
                            ("conveyor", "conveyor"),
                        ],
                        default="chute",
                        max_length=20,
                    ),
                ),
                (
                    "reach_m",
                    models.FloatField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(1000),
                        ],
                    ),
                ),
                (
                    "reinforcement",
                    models.CharField(
                        choices=[("none", "none"), ("mesh", "mesh"), ("bars", "bars")],
                        default="none",
                        max_length=10,
                    ),
                ),
                (
                    "screed",
                    models.CharField(
                        choices=[("hand", "hand"), ("vibrating", "vibrating"), ("laser", "laser")],
                        default="hand",
                        max_length=10,
                    ),
                ),
                (
                    "carry_m",
                    models.FloatField(
                        blank=True,
                        help_text="How far barrows or a buggy go, one way.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(1000),
                        ],
                    ),
                ),
                (
                    "rise_m",
                    models.FloatField(
                        blank=True,
                        help_text="What they climb on the way.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(30),
                        ],
                    ),
                ),
                (
                    "barrow_m3",
                    models.FloatField(
                        blank=True,
                        help_text="What one barrow holds.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(0.01),
                            django.core.validators.MaxValueValidator(0.5),
                        ],
                    ),
                ),
                (
                    "carts",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        help_text="Barrows or buggies there are.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(60),
                        ],
                    ),
                ),
                (
                    "line_m",
                    models.FloatField(
                        blank=True,
                        help_text="How long the pump's line is.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(500),
                        ],
                    ),
                ),
                (
                    "hose_moves",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(100),
                        ],
                    ),
                ),
                (
                    "pump_moves",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(20),
                        ],
                    ),
                ),
                ("fibres", models.BooleanField(default=False)),
                (
                    "slump_mm",
                    models.FloatField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(300),
                        ],
                    ),
                ),
                (
                    "slope",
                    models.FloatField(
                        blank=True,
                        help_text="Fall of the surface over its run.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(0.5),
                        ],
                    ),
                ),
                (
                    "truck_sides",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text="Sides of the slab that trucks can discharge from; none: not asked.",
                        validators=[scheduling.models.pours.validate_sides],
                    ),
                ),
                (
                    "trucks_on_base",
                    models.BooleanField(default=False, help_text="Trucks drive onto the base."),
                ),
                ("indoors", models.BooleanField(default=False)),
                (
                    "base_c",
                    models.FloatField(
                        blank=True,
                        help_text="Temperature of the base as somebody read it; empty: not read.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(-40),
                            django.core.validators.MaxValueValidator(60),
                        ],
                    ),
                ),
                ("base_frozen", models.BooleanField(default=False, help_text="Frost was seen in the base.")),
                (
                    "blankets",
                    models.BooleanField(default=False, help_text="Blankets go on once it is finished."),
                ),
                ("finishers", models.PositiveSmallIntegerField(default=2)),
                (
                    "finish",
                    models.CharField(
                        choices=[("trowel", "trowel"), ("broom", "broom"), ("float", "float")],
                        default="trowel",
                        max_length=10,
                    ),
                ),
                (
                    "decorative",
                    models.BooleanField(
                        default=False,
                        help_text="Colored, stamped or with stone to see: nothing may stain it.",
                    ),
                ),
                ("power_trowels", models.PositiveSmallIntegerField(default=1)),
                (
                    "test_cylinders",
                    models.PositiveSmallIntegerField(
                        default=0, help_text="Test cylinders the crew makes and brings to the laboratory."
                    ),
                ),
                (
                    "saw",
                    models.CharField(
                        choices=[
                            ("conventional", "conventional"),
                            ("early_entry", "early entry"),
                            ("handheld", "handheld"),
                            ("drivable", "drivable"),
                        ],
                        default="conventional",
                        max_length=20,
                    ),
                ),
                ("joint_spacing_m", models.FloatField(blank=True, null=True)),
                ("call_lead_min", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("notes", models.TextField(blank=True)),
                (
                    "promised_by",
                    models.DateField(
                        blank=True,
                        help_text="The last day that was promised to the customer, itself included.",
                        null=True,
                    ),
                ),
                ("booked_at", models.DateTimeField()),
                (
                    "booking_key",
                    models.CharField(
                        blank=True,
                        editable=False,
                        help_text="Of the page it was booked on, so that a second press books nothing twice.",
                        max_length=36,
                        null=True,
                        unique=True,
                    ),
                ),
                (
                    "booked_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="pours_booked",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "crew",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="pours",
                        to="scheduling.crew",
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="pours", to="scheduling.job"
                    ),
                ),
                (
                    "mix",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="pours", to="scheduling.mix"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="scheduling.plan",
                    ),
                ),
                (
                    "plant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="pours",
                        to="scheduling.plant",
                    ),
                ),
            ],
            options={
                "ordering": ["starts_at", "id"],
                "indexes": [
                    models.Index(fields=["starts_at", "state"], name="pour_starts_state"),
                    models.Index(fields=["crew", "starts_at"], name="pour_crew_starts"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("state__in", ["booked", "on_hold", "placed", "cancelled"])),
                        name="pour_state_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("finishers__gte", 1),
                            ("finishers__lte", 60),
                            ("people__gte", 1),
                            ("people__lte", 60),
                        ),
                        name="pour_people_sensible",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("version__gte", 1)), name="pour_version_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("allowance_value__gte", 0)), name="pour_allowance_not_negative"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("haul_min__isnull", True), ("haul_min__gte", 0), _connector="OR"),
                        name="pour_haul_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("reach_m__isnull", True),
                            models.Q(("reach_m__gte", 0), ("reach_m__lte", 1000)),
                            _connector="OR",
                        ),
                        name="pour_reach_m_within_limits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("carry_m__isnull", True),
                            models.Q(("carry_m__gte", 0), ("carry_m__lte", 1000)),
                            _connector="OR",
                        ),
                        name="pour_carry_m_within_limits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("rise_m__isnull", True),
                            models.Q(("rise_m__gte", 0), ("rise_m__lte", 30)),
                            _connector="OR",
                        ),
                        name="pour_rise_m_within_limits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("barrow_m3__isnull", True),
                            models.Q(("barrow_m3__gte", 0.01), ("barrow_m3__lte", 0.5)),
                            _connector="OR",
                        ),
                        name="pour_barrow_m3_within_limits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("carts__isnull", True),
                            models.Q(("carts__gte", 1), ("carts__lte", 60)),
                            _connector="OR",
                        ),
                        name="pour_carts_within_limits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("line_m__isnull", True),
                            models.Q(("line_m__gte", 0), ("line_m__lte", 500)),
                            _connector="OR",
                        ),
                        name="pour_line_m_within_limits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("hose_moves__isnull", True),
                            models.Q(("hose_moves__gte", 0), ("hose_moves__lte", 100)),
                            _connector="OR",
                        ),
                        name="pour_hose_moves_within_limits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("pump_moves__isnull", True),
                            models.Q(("pump_moves__gte", 0), ("pump_moves__lte", 20)),
                            _connector="OR",
                        ),
                        name="pour_pump_moves_within_limits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("slump_mm__isnull", True),
                            models.Q(("slump_mm__gte", 0), ("slump_mm__lte", 300)),
                            _connector="OR",
                        ),
                        name="pour_slump_mm_within_limits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("slope__isnull", True),
                            models.Q(("slope__gte", 0), ("slope__lte", 0.5)),
                            _connector="OR",
                        ),
                        name="pour_slope_within_limits",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlantOrder",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "first_together",
                    models.PositiveSmallIntegerField(default=1, help_text="Trucks at the start."),
                ),
                (
                    "next_after_min",
                    models.PositiveSmallIntegerField(help_text="From the first ones to the next truck."),
                ),
                (
                    "interval_min",
                    models.PositiveSmallIntegerField(help_text="From then on, from one to the next."),
                ),
                ("revision", models.PositiveIntegerField(default=1)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("to_call", "to call in"),
                            ("called", "called in"),
                            ("confirmed", "confirmed by the plant"),
                            ("replaced", "replaced by a later one"),
                            ("cancelled", "cancelled"),
                        ],
                        default="to_call",
                        max_length=10,
                    ),
                ),
                ("quantity_m3", models.FloatField()),
                ("loads", models.PositiveSmallIntegerField()),
                ("first_on_site_at", models.DateTimeField()),
                ("order_by", models.DateTimeField(help_text="The plant's cut-off for this pour.")),
                ("made_at", models.DateTimeField()),
                ("called_at", models.DateTimeField(blank=True, null=True)),
                ("confirmed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "taken_by",
                    models.CharField(blank=True, help_text="Who at the plant took it.", max_length=80),
                ),
                (
                    "ticket",
                    models.CharField(blank=True, help_text="The plant's own order number.", max_length=40),
                ),
                (
                    "made_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("mix", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, to="scheduling.mix")),
                (
                    "plant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="orders",
                        to="scheduling.plant",
                    ),
                ),
                (
                    "pour",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="orders",
                        to="scheduling.pour",
                    ),
                ),
            ],
            options={
                "ordering": ["-made_at", "-id"],
                "constraints": [
                    models.UniqueConstraint(fields=("pour", "revision"), name="order_revision_once_a_pour"),
                    models.UniqueConstraint(
                        condition=models.Q(("state__in", ["to_call", "called", "confirmed"])),
                        fields=("pour",),
                        name="order_one_standing_a_pour",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("state__in", ["to_call", "called", "confirmed", "replaced", "cancelled"])
                        ),
                        name="order_state_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("first_together__gte", 1), ("loads__gte", 1), ("quantity_m3__gt", 0)
                        ),
                        name="order_has_concrete",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="plan",
            name="pour",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="plans", to="scheduling.pour"
            ),
        ),
        migrations.CreateModel(
            name="Paper",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[("forms", "forms"), ("inspection", "inspection")], max_length=12
                    ),
                ),
                ("passed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "passed_by",
                    models.CharField(blank=True, help_text="Who released or passed it.", max_length=120),
                ),
                (
                    "noted_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "pour",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="papers",
                        to="scheduling.pour",
                    ),
                ),
            ],
            options={
                "ordering": ["pour", "kind"],
                "constraints": [
                    models.UniqueConstraint(fields=("pour", "kind"), name="paper_kind_once_a_pour"),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["forms", "inspection"])), name="paper_kind_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("passed_at__isnull", False), ("passed_by", ""), _connector="OR"),
                        name="paper_passed_by_somebody_sometime",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MessagePour",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("pour_version", models.PositiveIntegerField()),
                (
                    "pour_state",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("booked", "booked"),
                            ("on_hold", "on hold"),
                            ("placed", "placed"),
                            ("cancelled", "cancelled"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "message",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="about",
                        to="scheduling.message",
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="scheduling.plan",
                    ),
                ),
                (
                    "pour",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="texts",
                        to="scheduling.pour",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("message", "pour"), name="message_pour_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="Alarm",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "key",
                    models.CharField(
                        help_text="What tells one trouble from the next of the pour.", max_length=80
                    ),
                ),
                ("code", models.CharField(max_length=40)),
                ("raised_at", models.DateTimeField()),
                (
                    "passed_on_at",
                    models.DateTimeField(
                        blank=True,
                        help_text="When others were told because nobody said they had seen it.",
                        null=True,
                    ),
                ),
                ("acknowledged_at", models.DateTimeField(blank=True, null=True)),
                (
                    "acknowledged_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "pour",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="alarms",
                        to="scheduling.pour",
                    ),
                ),
            ],
            options={
                "ordering": ["pour", "raised_at", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("pour", "key"), name="alarm_key_once_a_pour")
                ],
            },
        ),
        migrations.CreateModel(
            name="AcceptedClash",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=200, unique=True)),
                ("accepted_at", models.DateTimeField()),
                (
                    "accepted_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "pour",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="accepted_clashes",
                        to="scheduling.pour",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "accepted clashes",
                "ordering": ["-accepted_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="PourEvent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("booked", "booked"),
                            ("changed", "changed"),
                            ("moved", "moved"),
                            ("held", "put on hold"),
                            ("released", "released from hold"),
                            ("cancelled", "cancelled"),
                            ("paper_asked", "to be released"),
                            ("paper_passed", "released"),
                            ("paper_reopened", "to be released again"),
                            ("paper_dropped", "needs no release any more"),
                            ("planned", "planned"),
                            ("weather_changed", "plan changed by new weather"),
                            ("clash_accepted", "clash accepted"),
                            ("order_made", "order made"),
                            ("order_called", "order called in"),
                            ("order_confirmed", "order confirmed"),
                            ("order_revised", "order revised"),
                            ("order_cancelled", "order cancelled"),
                        ],
                        max_length=20,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("facts", models.JSONField(blank=True, default=dict)),
                (
                    "by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "pour",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="events",
                        to="scheduling.pour",
                    ),
                ),
            ],
            options={
                "ordering": ["pour", "at", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "booked",
                                    "changed",
                                    "moved",
                                    "held",
                                    "released",
                                    "cancelled",
                                    "paper_asked",
                                    "paper_passed",
                                    "paper_reopened",
                                    "paper_dropped",
                                    "planned",
                                    "weather_changed",
                                    "clash_accepted",
                                    "order_made",
                                    "order_called",
                                    "order_confirmed",
                                    "order_revised",
                                    "order_cancelled",
                                ],
                            )
                        ),
                        name="event_kind_known",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="RateReset",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "method",
                    models.CharField(
                        choices=[
                            ("chute", "chute"),
                            ("extended_chute", "extended chute"),
                            ("barrow", "barrow"),
                            ("power_buggy", "power buggy"),
                            ("line_pump", "line pump"),
                            ("boom_pump", "boom pump"),
                            ("conveyor", "conveyor"),
                        ],
                        max_length=20,
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "crew",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="rate_resets",
                        to="scheduling.crew",
                    ),
                ),
            ],
            options={
                "ordering": ["crew", "method", "-at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "method__in",
                                [
                                    "chute",
                                    "extended_chute",
                                    "barrow",
                                    "power_buggy",
                                    "line_pump",
                                    "boom_pump",
                                    "conveyor",
                                ],
                            )
                        ),
                        name="rate_reset_method_known",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Reminder",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("evening", "warn of the next day"),
                            ("order", "order the concrete"),
                            ("confirm", "confirm with the plant"),
                            ("on_site", "be on site"),
                            ("finish", "start finishing"),
                            ("first_cut", "first saw cut"),
                            ("last_cut", "last saw cut"),
                            ("cure", "start curing"),
                            ("unanswered", "see that the morning text is answered"),
                            ("frost", "cover against frost"),
                            ("protect", "cover against rain"),
                            ("cylinders", "bring the test cylinders"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("waiting", "waiting"),
                            ("sent", "sent"),
                            ("missed", "missed"),
                            ("not_needed", "not needed any more"),
                        ],
                        default="waiting",
                        max_length=10,
                    ),
                ),
                ("due_at", models.DateTimeField()),
                ("useful_until", models.DateTimeField()),
                ("pour_version", models.PositiveIntegerField()),
                (
                    "not_before",
                    models.DateTimeField(
                        blank=True,
                        help_text="Put off until then by the crew, whatever the plan says.",
                        null=True,
                    ),
                ),
                (
                    "answered_at",
                    models.DateTimeField(blank=True, help_text="When the crew said it is done.", null=True),
                ),
                (
                    "pour",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="reminders",
                        to="scheduling.pour",
                    ),
                ),
            ],
            options={
                "ordering": ["due_at", "id"],
                "indexes": [models.Index(fields=["state", "due_at"], name="reminder_state_due")],
                "constraints": [
                    models.UniqueConstraint(fields=("pour", "kind"), name="reminder_kind_once_a_pour"),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "evening",
                                    "order",
                                    "confirm",
                                    "on_site",
                                    "finish",
                                    "first_cut",
                                    "last_cut",
                                    "cure",
                                    "unanswered",
                                    "frost",
                                    "protect",
                                    "cylinders",
                                ],
                            )
                        ),
                        name="reminder_kind_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("state__in", ["waiting", "sent", "missed", "not_needed"])),
                        name="reminder_state_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("useful_until__gt", models.F("due_at"))),
                        name="reminder_window_not_empty",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="message",
            name="reminder",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="messages",
                to="scheduling.reminder",
            ),
        ),
        migrations.CreateModel(
            name="Reply",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "gateway_key",
                    models.CharField(help_text="What the gateway calls it.", max_length=120, unique=True),
                ),
                ("phone", phonenumber_field.modelfields.PhoneNumberField(max_length=128, region=None)),
                ("body", models.TextField(blank=True)),
                ("received_at", models.DateTimeField()),
                (
                    "meaning",
                    models.CharField(
                        choices=[
                            ("yes", "yes"),
                            ("no", "no"),
                            ("late", "running late"),
                            ("done", "done"),
                            ("ravels", "the cut ravels"),
                            ("stop", "no more texts"),
                            ("start", "texts again"),
                            ("help", "asks for help"),
                            ("unclear", "for a person to read"),
                        ],
                        max_length=8,
                    ),
                ),
                ("late_min", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("answered_with", models.TextField(blank=True, help_text="What was texted back at once.")),
                ("needs_a_look", models.BooleanField(default=False)),
                ("seen_at", models.DateTimeField(blank=True, null=True)),
                (
                    "message",
                    models.ForeignKey(
                        blank=True,
                        help_text="The text it answers.",
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        to="scheduling.message",
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="replies",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "repeats",
                    models.ForeignKey(
                        blank=True,
                        help_text="The same words just before.",
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        to="scheduling.reply",
                    ),
                ),
                (
                    "seen_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="replies_seen",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "replies",
                "ordering": ["-received_at", "-id"],
                "indexes": [
                    models.Index(fields=["phone", "received_at"], name="reply_phone_received"),
                    models.Index(fields=["needs_a_look", "received_at"], name="reply_needs_a_look"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "meaning__in",
                                ["yes", "no", "late", "done", "ravels", "stop", "start", "help", "unclear"],
                            )
                        ),
                        name="reply_meaning_known",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Site",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                ("address", models.CharField(max_length=200)),
                (
                    "time_zone",
                    models.CharField(
                        default="America/Chicago",
                        max_length=64,
                        validators=[scheduling.models.company.validate_time_zone],
                    ),
                ),
                (
                    "latitude",
                    models.FloatField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(-90),
                            django.core.validators.MaxValueValidator(90),
                        ],
                    ),
                ),
                (
                    "longitude",
                    models.FloatField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(-180),
                            django.core.validators.MaxValueValidator(180),
                        ],
                    ),
                ),
                ("directions", models.TextField(blank=True, help_text="The gate, the code, where to park.")),
                ("one_truck_at_a_time", models.BooleanField(default=False)),
                ("trucks_must_back", models.BooleanField(default=False)),
                (
                    "power_lines",
                    models.BooleanField(default=False, help_text="Overhead lines near where trucks stand."),
                ),
                (
                    "road_limit_kg",
                    models.FloatField(
                        blank=True, help_text="Most a loaded truck may weigh on the way.", null=True
                    ),
                ),
                (
                    "loud_from",
                    models.TimeField(
                        blank=True,
                        help_text="Trucks, trowels and saws may run from then on; empty: always.",
                        null=True,
                    ),
                ),
                (
                    "loud_until",
                    models.TimeField(blank=True, help_text="Until then, the same day.", null=True),
                ),
            ],
            options={
                "ordering": ["name", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("latitude__isnull", True),
                            models.Q(("latitude__gte", -90), ("latitude__lte", 90)),
                            _connector="OR",
                        ),
                        name="site_latitude_on_earth",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("longitude__isnull", True),
                            models.Q(("longitude__gte", -180), ("longitude__lte", 180)),
                            _connector="OR",
                        ),
                        name="site_longitude_on_earth",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("road_limit_kg__isnull", True), ("road_limit_kg__gt", 0), _connector="OR"
                        ),
                        name="site_road_limit_positive",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("loud_from__isnull", True), ("loud_until__isnull", True)),
                            models.Q(("loud_from__isnull", False), ("loud_until__gt", models.F("loud_from"))),
                            _connector="OR",
                        ),
                        name="site_loud_hours_whole",
                        violation_error_message="Give both hours for loud work, the later one last, or neither.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="RoadSeason",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("first_on", models.DateField()),
                ("last_on", models.DateField(help_text="Itself included.")),
                ("limit_kg", models.FloatField(help_text="Most a loaded truck may weigh while it lasts.")),
                (
                    "plant",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="road_seasons",
                        to="scheduling.plant",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="road_seasons",
                        to="scheduling.site",
                    ),
                ),
            ],
            options={
                "ordering": ["first_on", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("last_on__gte", models.F("first_on"))),
                        name="road_season_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("limit_kg__gt", 0)), name="road_season_limit_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("site__isnull", False), ("plant__isnull", False), _connector="OR"
                        ),
                        name="road_season_somewhere",
                        violation_error_message="Name the site or the plant whose road it is.",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="job",
            name="site",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="jobs", to="scheduling.site"
            ),
        ),
        migrations.CreateModel(
            name="ForecastWatch",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("spot", models.CharField(blank=True, max_length=40)),
                ("next_try_at", models.DateTimeField(blank=True, null=True)),
                ("claimed_at", models.DateTimeField(blank=True, null=True)),
                ("answered_at", models.DateTimeField(blank=True, null=True)),
                (
                    "failures",
                    models.PositiveSmallIntegerField(default=0, help_text="Since it last went well."),
                ),
                ("failed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "failure",
                    models.CharField(
                        blank=True, help_text="Why the last try gave no forecast.", max_length=300
                    ),
                ),
                (
                    "site",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="watch",
                        to="scheduling.site",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "forecast watches",
                "ordering": ["site"],
                "indexes": [models.Index(fields=["next_try_at"], name="watch_next_try")],
            },
        ),
        migrations.CreateModel(
            name="SiteForecast",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("provider", models.CharField(max_length=40)),
                ("fetched_at", models.DateTimeField()),
                ("starts_at", models.DateTimeField()),
                ("ends_at", models.DateTimeField()),
                ("hours", models.JSONField()),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="forecasts",
                        to="scheduling.site",
                    ),
                ),
            ],
            options={
                "ordering": ["site", "-fetched_at", "-id"],
                "indexes": [models.Index(fields=["site", "-fetched_at"], name="forecast_site_fetched")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("ends_at__gt", models.F("starts_at"))), name="forecast_not_empty"
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="plan",
            name="forecast",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                to="scheduling.siteforecast",
            ),
        ),
        migrations.CreateModel(
            name="SiteHours",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[("permit", "work allowed"), ("loud", "loud work allowed")], max_length=10
                    ),
                ),
                (
                    "weekdays",
                    models.JSONField(
                        default=scheduling.models.jobs.every_day,
                        help_text="Numbers, Monday is 0.",
                        validators=[scheduling.models.jobs.validate_weekdays],
                    ),
                ),
                ("opens_at", models.TimeField()),
                ("closes_at", models.TimeField()),
                ("first_on", models.DateField(blank=True, help_text="Empty: since ever.", null=True)),
                (
                    "last_on",
                    models.DateField(blank=True, help_text="Itself included; empty: for good.", null=True),
                ),
                (
                    "after_sunrise_min",
                    models.SmallIntegerField(
                        blank=True,
                        help_text="Not sooner after sunrise than this; empty: the sun does not count.",
                        null=True,
                    ),
                ),
                (
                    "on_holidays",
                    models.BooleanField(default=False, help_text="Holds on public holidays too."),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="hours",
                        to="scheduling.site",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "site hours",
                "ordering": ["site", "kind", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["permit", "loud"])), name="site_hours_kind_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("closes_at__gt", models.F("opens_at"))),
                        name="site_hours_not_empty",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("first_on__isnull", True),
                            ("last_on__isnull", True),
                            ("last_on__gte", models.F("first_on")),
                            _connector="OR",
                        ),
                        name="site_hours_dates_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("after_sunrise_min__isnull", True),
                            models.Q(("after_sunrise_min__gte", -180), ("after_sunrise_min__lte", 360)),
                            _connector="OR",
                        ),
                        name="site_hours_sunrise_sensible",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SiteNote",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "key",
                    models.CharField(
                        help_text="Made by whoever notes it, new for each press.", max_length=80
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("truck_arrived", "truck on site"),
                            ("truck_started", "discharge started"),
                            ("truck_empty", "truck empty"),
                            ("people_there", "people on site"),
                            ("ready_to_finish", "ready to finish"),
                            ("ravels", "the cut ravels"),
                            ("cut_done", "cutting done"),
                            ("rain", "rain"),
                            ("problem", "a problem"),
                            ("ticket", "ticket read"),
                            ("slump", "slump taken"),
                            ("temperature", "temperature taken"),
                            ("refused", "load refused"),
                            ("photo", "a photo"),
                            ("finishing_done", "finishing done"),
                            ("measured", "measured what is left"),
                            ("balance_asked", "balance load asked for"),
                            ("balance_loading", "balance load loading"),
                            ("balance_gone", "balance load on its way"),
                            ("balance_cancelled", "balance load cancelled"),
                        ],
                        max_length=20,
                    ),
                ),
                ("load", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("happened_at", models.DateTimeField()),
                ("noted_at", models.DateTimeField()),
                (
                    "batch_at",
                    models.DateTimeField(
                        blank=True, help_text="From the ticket of a truck that came.", null=True
                    ),
                ),
                ("people", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "m3",
                    models.FloatField(
                        blank=True, help_text="Concrete: still to place, or asked for.", null=True
                    ),
                ),
                (
                    "strip",
                    models.PositiveSmallIntegerField(
                        blank=True, help_text="Which strip is ready to finish; empty: the first.", null=True
                    ),
                ),
                ("words", models.CharField(blank=True, max_length=300)),
                ("slump_mm", models.FloatField(blank=True, null=True)),
                ("concrete_c", models.FloatField(blank=True, null=True)),
                (
                    "ticket_m3",
                    models.FloatField(
                        blank=True, help_text="What the ticket says is on the truck.", null=True
                    ),
                ),
                ("ticket_mix", models.CharField(blank=True, max_length=60)),
                ("ticket_address", models.CharField(blank=True, max_length=200)),
                ("photo", models.FileField(blank=True, upload_to="")),
                ("undone_at", models.DateTimeField(blank=True, null=True)),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "pour",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="site_notes",
                        to="scheduling.pour",
                    ),
                ),
            ],
            options={
                "ordering": ["pour", "happened_at", "id"],
                "constraints": [
                    models.UniqueConstraint(fields=("pour", "key"), name="note_key_once_a_pour"),
                    models.UniqueConstraint(
                        condition=models.Q(
                            ("undone_at__isnull", True),
                            ("kind__in", ["truck_arrived", "truck_started", "truck_empty"]),
                        ),
                        fields=("pour", "kind", "load"),
                        name="note_of_a_load_once",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "truck_arrived",
                                    "truck_started",
                                    "truck_empty",
                                    "people_there",
                                    "ready_to_finish",
                                    "ravels",
                                    "cut_done",
                                    "rain",
                                    "problem",
                                    "ticket",
                                    "slump",
                                    "temperature",
                                    "refused",
                                    "photo",
                                    "finishing_done",
                                    "measured",
                                    "balance_asked",
                                    "balance_loading",
                                    "balance_gone",
                                    "balance_cancelled",
                                ],
                            )
                        ),
                        name="note_kind_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                (
                                    "kind__in",
                                    [
                                        "truck_arrived",
                                        "truck_started",
                                        "truck_empty",
                                        "ticket",
                                        "slump",
                                        "temperature",
                                        "refused",
                                    ],
                                ),
                                ("load__gte", 1),
                            ),
                            models.Q(
                                models.Q(
                                    (
                                        "kind__in",
                                        [
                                            "truck_arrived",
                                            "truck_started",
                                            "truck_empty",
                                            "ticket",
                                            "slump",
                                            "temperature",
                                            "refused",
                                        ],
                                    ),
                                    _negated=True,
                                ),
                                ("load__isnull", True),
                            ),
                            models.Q(("kind", "ready_to_finish"), ("load__gte", 1)),
                            _connector="OR",
                        ),
                        name="note_load_with_trucks_only",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("batch_at__isnull", True),
                            models.Q(
                                ("kind__in", ["truck_arrived", "ticket"]),
                                ("batch_at__lte", models.F("happened_at")),
                            ),
                            _connector="OR",
                        ),
                        name="note_batched_before_it_arrived",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "people_there"), ("people__isnull", False)),
                            models.Q(
                                models.Q(("kind", "people_there"), _negated=True), ("people__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="note_people_counted",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "slump"), ("slump_mm__isnull", False)),
                            models.Q(models.Q(("kind", "slump"), _negated=True), ("slump_mm__isnull", True)),
                            _connector="OR",
                        ),
                        name="note_slump_measured",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("concrete_c__isnull", False), ("kind", "temperature")),
                            models.Q(
                                models.Q(("kind", "temperature"), _negated=True), ("concrete_c__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="note_temperature_measured",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind", "ticket"),
                            models.Q(("ticket_address", ""), ("ticket_m3__isnull", True), ("ticket_mix", "")),
                            _connector="OR",
                        ),
                        name="note_ticket_of_a_ticket",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "photo"), models.Q(("photo", ""), _negated=True)),
                            models.Q(models.Q(("kind", "photo"), _negated=True), ("photo", "")),
                            _connector="OR",
                        ),
                        name="note_photo_there",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind__in", ["measured", "balance_asked"]), ("m3__gte", 0)),
                            models.Q(
                                models.Q(("kind__in", ["measured", "balance_asked"]), _negated=True),
                                ("m3__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="note_volume_measured",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("strip__isnull", True),
                            models.Q(("kind", "ready_to_finish"), ("strip__gte", 1)),
                            _connector="OR",
                        ),
                        name="note_strip_ready",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SlabSection",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "shape",
                    models.CharField(
                        choices=[
                            ("rectangle", "rectangle"),
                            ("trapezoid", "trapezoid"),
                            ("polygon", "polygon"),
                            ("circle", "circle"),
                            ("area", "area"),
                        ],
                        default="rectangle",
                        max_length=10,
                    ),
                ),
                ("length_m", models.FloatField(blank=True, null=True)),
                ("width_m", models.FloatField(blank=True, null=True)),
                (
                    "side_b_m",
                    models.FloatField(
                        blank=True, help_text="The second parallel side of a trapezoid.", null=True
                    ),
                ),
                ("diameter_m", models.FloatField(blank=True, null=True)),
                ("area_m2", models.FloatField(blank=True, null=True)),
                (
                    "corners_m",
                    models.JSONField(blank=True, help_text="Corners of a polygon, [[x, y], …].", null=True),
                ),
                ("position", models.PositiveSmallIntegerField()),
                ("label", models.CharField(blank=True, max_length=60)),
                (
                    "depth_kind",
                    models.CharField(
                        choices=[
                            ("uniform", "uniform"),
                            ("falling_top", "falling top"),
                            ("falling_base", "falling base"),
                            ("spots", "spots"),
                        ],
                        default="uniform",
                        max_length=12,
                    ),
                ),
                ("depth_m", models.FloatField(blank=True, null=True)),
                ("fall_m", models.FloatField(default=0.0)),
                ("falls_towards_deg", models.FloatField(default=90.0)),
                ("spot_depths_m", models.JSONField(blank=True, null=True)),
                (
                    "drawn_depth_m",
                    models.FloatField(blank=True, help_text="What the drawing calls it.", null=True),
                ),
                ("shaded", models.BooleanField(default=False, help_text="It lies in shade while it sets.")),
                (
                    "pour",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="sections",
                        to="scheduling.pour",
                    ),
                ),
            ],
            options={
                "ordering": ["pour", "position"],
                "constraints": [
                    models.UniqueConstraint(fields=("pour", "position"), name="section_position_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("shape", "rectangle"),
                                ("length_m__isnull", False),
                                ("width_m__isnull", False),
                                ("length_m__gt", 0),
                                ("width_m__gt", 0),
                            ),
                            models.Q(
                                ("shape", "trapezoid"),
                                ("length_m__isnull", False),
                                ("width_m__isnull", False),
                                ("length_m__gt", 0),
                                ("width_m__gt", 0),
                                ("side_b_m__gte", 0),
                                ("side_b_m__isnull", False),
                            ),
                            models.Q(("shape", "polygon"), ("corners_m__isnull", False)),
                            models.Q(
                                ("shape", "circle"), ("diameter_m__isnull", False), ("diameter_m__gt", 0)
                            ),
                            models.Q(("shape", "area"), ("area_m2__isnull", False), ("area_m2__gt", 0)),
                            _connector="OR",
                        ),
                        name="section_outline_whole",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("depth_kind", "spots"), ("spot_depths_m__isnull", False)),
                            models.Q(
                                models.Q(("depth_kind", "spots"), _negated=True),
                                ("depth_m__isnull", False),
                                ("depth_m__gt", 0),
                            ),
                            _connector="OR",
                        ),
                        name="section_depth_whole",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("fall_m__gte", 0)), name="section_fall_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SlabOpening",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "shape",
                    models.CharField(
                        choices=[
                            ("rectangle", "rectangle"),
                            ("trapezoid", "trapezoid"),
                            ("polygon", "polygon"),
                            ("circle", "circle"),
                            ("area", "area"),
                        ],
                        default="rectangle",
                        max_length=10,
                    ),
                ),
                ("length_m", models.FloatField(blank=True, null=True)),
                ("width_m", models.FloatField(blank=True, null=True)),
                (
                    "side_b_m",
                    models.FloatField(
                        blank=True, help_text="The second parallel side of a trapezoid.", null=True
                    ),
                ),
                ("diameter_m", models.FloatField(blank=True, null=True)),
                ("area_m2", models.FloatField(blank=True, null=True)),
                (
                    "corners_m",
                    models.JSONField(blank=True, help_text="Corners of a polygon, [[x, y], …].", null=True),
                ),
                ("count", models.PositiveSmallIntegerField(default=1)),
                (
                    "section",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="openings",
                        to="scheduling.slabsection",
                    ),
                ),
            ],
            options={
                "ordering": ["section", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("shape", "rectangle"),
                                ("length_m__isnull", False),
                                ("width_m__isnull", False),
                                ("length_m__gt", 0),
                                ("width_m__gt", 0),
                            ),
                            models.Q(
                                ("shape", "trapezoid"),
                                ("length_m__isnull", False),
                                ("width_m__isnull", False),
                                ("length_m__gt", 0),
                                ("width_m__gt", 0),
                                ("side_b_m__gte", 0),
                                ("side_b_m__isnull", False),
                            ),
                            models.Q(("shape", "polygon"), ("corners_m__isnull", False)),
                            models.Q(
                                ("shape", "circle"), ("diameter_m__isnull", False), ("diameter_m__gt", 0)
                            ),
                            models.Q(("shape", "area"), ("area_m2__isnull", False), ("area_m2__gt", 0)),
                            _connector="OR",
                        ),
                        name="opening_outline_whole",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("count__gte", 1)), name="opening_count_positive"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SlabEdge",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("width_m", models.FloatField()),
                ("depth_m", models.FloatField()),
                ("length_m", models.FloatField(blank=True, null=True)),
                ("taper_m", models.FloatField(default=0.0)),
                (
                    "section",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="edges",
                        to="scheduling.slabsection",
                    ),
                ),
            ],
            options={
                "ordering": ["section", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("depth_m__gt", 0), ("taper_m__gte", 0), ("width_m__gt", 0)),
                        name="edge_sizes_positive",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="WeatherPage",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("url", models.CharField(max_length=500, unique=True)),
                ("body", models.TextField()),
                ("etag", models.CharField(blank=True, max_length=200)),
                ("last_modified", models.CharField(blank=True, max_length=200)),
                ("checked_at", models.DateTimeField()),
                ("fresh_until", models.DateTimeField()),
            ],
            options={
                "ordering": ["url"],
                "indexes": [models.Index(fields=["checked_at"], name="weather_page_checked")],
            },
        ),
        migrations.CreateModel(
            name="WeekProposal",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("monday", models.DateField(help_text="The week, on the office's calendar.")),
                (
                    "lost_on",
                    models.DateField(blank=True, help_text="A day nothing can be placed on.", null=True),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("asked", "waiting for a worker"),
                            ("working", "being worked on"),
                            ("ready", "ready"),
                            ("stopped", "stopped"),
                            ("failed", "failed"),
                            ("accepted", "accepted"),
                            ("out_of_date", "out of date"),
                        ],
                        default="asked",
                        max_length=12,
                    ),
                ),
                ("asked_at", models.DateTimeField()),
                ("stop_asked", models.BooleanField(default=False)),
                (
                    "seen_at",
                    models.DateTimeField(
                        blank=True, help_text="When its worker last gave a sign.", null=True
                    ),
                ),
                ("tries", models.PositiveSmallIntegerField(default=0)),
                ("planned", models.PositiveIntegerField(default=0, help_text="Starts planned so far.")),
                ("to_plan", models.PositiveIntegerField(default=0)),
                ("best", models.PositiveIntegerField(blank=True, null=True)),
                ("bound", models.PositiveIntegerField(blank=True, null=True)),
                ("seconds", models.FloatField(default=0.0)),
                ("base", models.JSONField(default=dict)),
                ("result", models.JSONField(blank=True, null=True)),
                ("fault", models.CharField(blank=True, max_length=200)),
                ("settled_at", models.DateTimeField(blank=True, null=True)),
                (
                    "asked_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "lost_site",
                    models.ForeignKey(
                        blank=True,
                        help_text="Where nothing can be placed.",
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        to="scheduling.site",
                    ),
                ),
                (
                    "settled_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-asked_at", "-id"],
                "indexes": [models.Index(fields=["monday", "-asked_at"], name="proposal_week")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "state__in",
                                ["asked", "working", "ready", "stopped", "failed", "accepted", "out_of_date"],
                            )
                        ),
                        name="proposal_state_known",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Worker",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                (
                    "phone",
                    phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None),
                ),
                ("places", models.BooleanField(default=True, help_text="Can place and strike off.")),
                ("finishes", models.BooleanField(default=False, help_text="Can run a trowel.")),
                ("saws", models.BooleanField(default=False, help_text="Can cut joints.")),
                ("pumps", models.BooleanField(default=False, help_text="Can run a pump.")),
                (
                    "drives",
                    models.BooleanField(default=False, help_text="Has the licence for our own trucks."),
                ),
                (
                    "heat_from_on",
                    models.DateField(
                        blank=True,
                        help_text="First day of work in this heat; empty: used to it. For the office and dispatchers alone.",
                        null=True,
                    ),
                ),
                (
                    "heat_before",
                    models.BooleanField(
                        default=False,
                        help_text="Has done such work in heat before, and was away from it a week or more.",
                    ),
                ),
                ("active", models.BooleanField(default=True)),
                (
                    "crew",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="workers",
                        to="scheduling.crew",
                    ),
                ),
                (
                    "user",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="worker",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["name", "id"],
            },
        ),
        migrations.CreateModel(
            name="Absence",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("starts_at", models.DateTimeField()),
                ("ends_at", models.DateTimeField(help_text="Back from then on.")),
                ("reason", models.CharField(blank=True, max_length=120)),
                (
                    "crew",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="absences",
                        to="scheduling.crew",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="absences",
                        to="scheduling.equipmentunit",
                    ),
                ),
                (
                    "worker",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="absences",
                        to="scheduling.worker",
                    ),
                ),
            ],
            options={
                "ordering": ["starts_at", "id"],
                "indexes": [models.Index(fields=["ends_at", "starts_at"], name="absence_span")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("ends_at__gt", models.F("starts_at"))),
                        name="absence_not_empty",
                        violation_error_message="They are back after they leave.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("crew__isnull", True), ("unit__isnull", True), ("worker__isnull", False)
                            ),
                            models.Q(
                                ("crew__isnull", False), ("unit__isnull", True), ("worker__isnull", True)
                            ),
                            models.Q(
                                ("crew__isnull", True), ("unit__isnull", False), ("worker__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="absence_of_one",
                        violation_error_message="Name a person, a crew or a machine: one of them.",
                    ),
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="plan",
            constraint=models.UniqueConstraint(fields=("pour", "number"), name="plan_number_once_a_pour"),
        ),
    ]
