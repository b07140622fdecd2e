"""Django's settings. What differs from place to place comes from the environment; `.env.example` lists it."""

import os
from datetime import timedelta
from pathlib import Path
from typing import Any

from csp.constants import NONE, SELF
from django.contrib.messages import constants as levels

from pourplan import env
from pourplan.celery import TIMETABLE
from pourplan.folderqueue import folder_options

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(env.text("POURPLAN_VAR", str(BASE_DIR / "var"))).resolve()
os.environ.setdefault("NUMBA_CACHE_DIR", str(VAR_DIR / "compiled"))  # the code's own folder may be read-only

DEBUG = env.flag("POURPLAN_DEBUG", default=False)
PUBLIC_URL = env.text("PUBLIC_URL", "http://localhost:8000").rstrip("/")
ALLOWED_HOSTS = env.words("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]")
PROXY_COUNT = env.whole("PROXY_COUNT", 0, least=0, most=9)
TEXT_GATEWAY = env.text("TEXT_GATEWAY", "console")
# Of these, only what the gateway in use needs is looked at.
TEXT_APPRISE_URL = env.secret("TEXT_APPRISE_URL")
TWILIO_ACCOUNT_SID = env.text("TWILIO_ACCOUNT_SID")
TWILIO_AUTH_TOKEN = env.secret("TWILIO_AUTH_TOKEN")
TWILIO_FROM = env.text("TWILIO_FROM")
TWILIO_API_URL = env.text("TWILIO_API_URL").rstrip("/")
TEXTS_A_MINUTE = env.whole("TEXTS_A_MINUTE", 60, least=1, most=100_000)
TEXTS_A_PERSON_AN_HOUR = env.whole("TEXTS_A_PERSON_AN_HOUR", 30, least=1, most=10_000)
WEATHER_PROVIDER = env.text("WEATHER_PROVIDER", "none")
WEATHER_CONTACT = env.text("WEATHER_CONTACT")
WEATHER_TIMEOUT_S = env.whole("WEATHER_TIMEOUT_S", 10, least=1, most=60)
NWS_URL = env.text("NWS_URL", "https://api.weather.gov").rstrip("/")
OPEN_METEO_URL = env.text("OPEN_METEO_URL", "https://api.open-meteo.com").rstrip("/")
WEEK_HANDS = env.whole("WEEK_HANDS", 2, least=1, most=64)
POSTGRESQL = env.postgresql("DATABASE_URL")
REDIS_URL = env.redis_url("REDIS_URL")

SECRET_KEY = env.secret("SECRET_KEY")
if not SECRET_KEY and (POSTGRESQL or REDIS_URL):
    # Several hosts may share these, and each would make a key of its own: sign-ins would fail by turns.
    raise env.WrongSetting(
        "SECRET_KEY (or SECRET_KEY_FILE) must be given together with DATABASE_URL or REDIS_URL, "
        "the same one on every host."
    )
SECRET_KEY = SECRET_KEY or env.kept_secret(VAR_DIR / "secret_key")

# --- the program ------------------------------------------------------------------------------

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "knox",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "django_filters",
    "axes",
    "phonenumber_field",
    "csp",
    "django_htmx",
    "scheduling.apps.SchedulingConfig",
    # An app without models, so that its templates, static files and template tags are found.
    "scheduling.pages",
]

MIDDLEWARE = [
    "api.errors.problems_everywhere",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "pourplan.middleware.refuse_nul",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "pourplan.urls"
WSGI_APPLICATION = "pourplan.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
TIME_ZONE = "UTC"
PHONENUMBER_DEFAULT_REGION = "US"
PHONENUMBER_DB_FORMAT = "E164"

# WhiteNoise serves the files from where they lie: a handful of small ones is not worth a collecting step.
STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_MAX_AGE = 300

# Photos from site. There is no address for the folder: the pages hand them to those who may see the pour.
MEDIA_ROOT = VAR_DIR / "media"
FILE_UPLOAD_PERMISSIONS = 0o600

# --- where rows are kept ----------------------------------------------------------------------

# IMMEDIATE takes the write lock when a transaction begins. A transaction that reads first and then writes
# would otherwise fail at once as "database is locked", without waiting for the timeout.
SQLITE: dict[str, Any] = {
    "ENGINE": "django.db.backends.sqlite3",
    "NAME": VAR_DIR / "pourplan.sqlite3",
    "OPTIONS": {
        "transaction_mode": "IMMEDIATE",
        "timeout": 10,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    },
}
DATABASES = {"default": POSTGRESQL or SQLITE}

# --- work that happens later ------------------------------------------------------------------

QUEUE_DIR = VAR_DIR / "celery"
QUEUE_DIR.mkdir(parents=True, exist_ok=True)
CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, Any]
if REDIS_URL:
    CELERY_BROKER_URL = REDIS_URL
    # A broker that is away must not hold up the request that nudges it, nor one that hangs hold it for good.
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "max_retries": 0,
        "socket_connect_timeout": 0.05,
        "socket_timeout": 0.5,
    }
else:
    CELERY_BROKER_URL = "filesystem://localhost"
    CELERY_BROKER_TRANSPORT = "pourplan.folderqueue:Transport"
    CELERY_BROKER_TRANSPORT_OPTIONS = folder_options(QUEUE_DIR)
CELERY_TASK_PUBLISH_RETRY = False
# The worker, on the other hand, waits for its broker as long as it takes.
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
# What a task did is in the rows it worked through; nobody reads a result.
CELERY_RESULT_BACKEND = None
CELERY_TASK_IGNORE_RESULT = True
# Acknowledged before it runs: the timetable soon asks again for a task lost with its worker, while
# a late acknowledgement would hand a finished task out a second time.
CELERY_TASK_ACKS_LATE = False
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_WORKER_REDIRECT_STDOUTS = False
CELERY_BEAT_SCHEDULE_FILENAME = str(QUEUE_DIR / "beat")
# A worker whose hands are all busy leaves the next task to others. Only Redis knows how; of files nothing is
# fetched ahead by a worker that runs alone anyway.
CELERY_WORKER_DISABLE_PREFETCH = bool(REDIS_URL)
# A turn that could not be taken before the next one is due is dropped, so an outage leaves no heap of them.
CELERY_BEAT_SCHEDULE = {
    name: {"task": task, "schedule": seconds, "options": {"expires": seconds}}
    for name, (task, seconds) in TIMETABLE.items()
}

# --- who comes in -----------------------------------------------------------------------------

# As the page's notices are called.
MESSAGE_TAGS = {levels.SUCCESS: "good", levels.WARNING: "mind", levels.ERROR: "bad"}
AUTH_USER_MODEL = "scheduling.User"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "sign-in"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]

# Name and address together: a stranger who guesses at a dispatcher's name must not lock the dispatcher out.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_ON_SUCCESS = True
AXES_CLIENT_IP_CALLABLE = "pourplan.proxies.client_address"
AXES_VERBOSE = False
AXES_LOCKOUT_TEMPLATE = "pages/locked_out.html"

HTTPS = PUBLIC_URL.startswith("https://")
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
CSRF_TRUSTED_ORIGINS = [PUBLIC_URL] if HTTPS else []
SECURE_HSTS_SECONDS = 30 * 24 * 3600 if HTTPS else 0
# Only a proxy of ours may say that the outside leg was encrypted; without one anybody could send the header.
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if PROXY_COUNT else None
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    },
}

# --- the door for machines --------------------------------------------------------------------

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "api.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_FILTER_BACKENDS": ["django_filters.rest_framework.DjangoFilterBackend"],
    "DEFAULT_PAGINATION_CLASS": "api.pagination.Pages",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "api.errors.problem_handler",
    # Counted in each process for itself, a bound on runaway programs. Guessed passwords are counted by axes.
    "DEFAULT_THROTTLE_CLASSES": [
        "rest_framework.throttling.AnonRateThrottle",
        "rest_framework.throttling.UserRateThrottle",
    ],
    "DEFAULT_THROTTLE_RATES": {"anon": "60/min", "user": "1200/min"},
    "NUM_PROXIES": PROXY_COUNT,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
REST_KNOX = {
    "AUTH_HEADER_PREFIX": "Bearer",
    "TOKEN_TTL": timedelta(days=30),
    "AUTO_REFRESH": True,
    # A token in steady use is written at most once an hour.
    "MIN_REFRESH_INTERVAL": 3600,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Pourplan API",
    "DESCRIPTION": "Pours, crews, trucks, forecasts and texts of a concrete flatwork contractor.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "COMPONENT_SPLIT_REQUEST": True,
    "ENUM_ADD_EXPLICIT_BLANK_NULL_CHOICE": False,
    "ENUM_NAME_OVERRIDES": {
        "PourState": "scheduling.models.PourState",
        "ProposalState": "scheduling.models.ProposalState",
        "PaperKind": "scheduling.models.PaperKind",
        "SiteHoursKind": "scheduling.models.SiteHoursKind",
        "FeeDay": "scheduling.models.FeeDay",
        "CellsPartedBy": "api.choices.CELLS_PARTED_BY",
        "DateOrder": "api.choices.DATE_ORDER",
        "Units": "scheduling.models.Units",
        "OrderState": "scheduling.models.OrderState",
        "MessageState": "scheduling.models.MessageState",
        "MessageKind": "scheduling.models.MessageKind",
        "EventKind": "scheduling.models.EventKind",
        "NoteKind": "api.choices.NOTE_KIND",
        "LoadStand": "api.choices.LOAD_STAND",
        "BalanceStep": "api.choices.BALANCE_STEP",
        "Screed": "api.choices.SCREED",
        "TruckSide": "api.choices.SIDE",
        "WaitCounted": "api.choices.COUNT",
        "EquipmentKind": "scheduling.models.EquipmentKind",
        "Language": "scheduling.models.Language",
        "AgreementWay": "api.choices.AGREEMENT_WAY",
        "Role": "api.choices.ROLE",
        "Severity": "api.choices.SEVERITY",
        "PhaseKind": "api.choices.PHASE_KIND",
        "Method": "api.choices.METHOD",
        "Finish": "api.choices.FINISH",
        "SawType": "api.choices.SAW_TYPE",
        "Reinforcement": "api.choices.REINFORCEMENT",
        "Admixture": "api.choices.ADMIXTURE",
        "Shape": "api.choices.SHAPE",
        "DepthKind": "api.choices.DEPTH_KIND",
        "Weekday": "api.choices.WEEKDAY",
        "ForecastAge": "api.choices.FORECAST_AGE",
    },
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "api.schema.add_parts",
        "api.schema.close_requests",
    ],
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
}

# --- what it tells the people who run it ------------------------------------------------------

LOG_LEVEL = env.choice("LOG_LEVEL", "INFO", ("DEBUG", "INFO", "WARNING", "ERROR"))
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"()": "pourplan.logs.OneLine"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": LOG_LEVEL},
    # Django would also mail errors to ADMINS and log to a console of its own.
    "loggers": {
        "django": {"handlers": [], "propagate": True},
        # It would tell of every text in a dozen lines.
        "twilio": {"level": "WARNING"},
    },
}
