"""All settings, from the environment, with defaults that let a fresh clone run.

Every variable is read in the first block; the table in docs/reference/settings.md lists
the same ones (a test compares them).
"""

from __future__ import annotations

import os
from datetime import timedelta
from pathlib import Path
from typing import Any

from environs import Env, validate

from renovation.secrets import kept_secret

BASE_DIR = Path(__file__).resolve().parent.parent
LOOPBACK = ["127.0.0.1", "localhost", "[::1]"]

# Set to nothing is left out: what starts containers passes on whatever it was not given as that.
for name in [name for name, value in os.environ.items() if not value]:
    if name.startswith("LIFTED_BOARDS_") or name in {"DATABASE_URL", "REDIS_URL"}:
        del os.environ[name]

env = Env(eager=False)
DATA_DIR: Path = env.path("LIFTED_BOARDS_DATA", BASE_DIR / "data").resolve()
DATABASE_URL: str = env.str("DATABASE_URL", "")
REDIS_URL: str = env.str("REDIS_URL", "")
SECRET_KEY: str = env.str("LIFTED_BOARDS_SECRET_KEY", "")
ALLOWED_HOSTS: list[str] = env.list("LIFTED_BOARDS_HOSTS", LOOPBACK)
CSRF_TRUSTED_ORIGINS: list[str] = env.list("LIFTED_BOARDS_ORIGINS", [])
# Whoever is served over a network is served over TLS, unless told otherwise.
HTTPS: bool = env.bool("LIFTED_BOARDS_HTTPS", not set(ALLOWED_HOSTS) <= set(LOOPBACK))
BEHIND_PROXY: bool = env.bool("LIFTED_BOARDS_BEHIND_PROXY", False)
DEBUG: bool = env.bool("LIFTED_BOARDS_DEBUG", False)
PLAN_SECONDS: float = env.float("LIFTED_BOARDS_PLAN_SECONDS", 5.0)
EMAIL_URL: str = env.str("LIFTED_BOARDS_EMAIL_URL", "")
DEFAULT_FROM_EMAIL: str = env.str("LIFTED_BOARDS_EMAIL_FROM", "lifted-boards@localhost")
LOG_LEVEL: str = env.str("LIFTED_BOARDS_LOG_LEVEL", "WARNING")
LOG_FORMAT: str = env.str(
    "LIFTED_BOARDS_LOG_FORMAT",
    "json" if REDIS_URL else "text",
    validate=validate.OneOf(["json", "text"]),
)
METRICS: bool = env.bool("LIFTED_BOARDS_METRICS", False)
METRICS_TOKEN: str = env.str("LIFTED_BOARDS_METRICS_TOKEN", "")
METRICS_PORT: int = env.int("LIFTED_BOARDS_METRICS_PORT", 0)
FREE_MIB_WANTED: int = env.int("LIFTED_BOARDS_FREE_MIB", 200)
HOUSE_MIB: int = env.int("LIFTED_BOARDS_HOUSE_MIB", 1024, validate=validate.Range(min=1))
DATABASE: dict[str, Any] = dict(env.dj_db_url("DATABASE_URL")) if DATABASE_URL else {}
EMAIL: dict[str, Any] = dict(env.dj_email_url("LIFTED_BOARDS_EMAIL_URL")) if EMAIL_URL else {}
env.seal()

# Its owner only: the database holds phone numbers and who may sign in. The mask is for what
# SQLite and the uploads write there later.
os.umask(0o077)
DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
SECRET_KEY = SECRET_KEY or kept_secret(DATA_DIR / "secret-key")

# Where compiled inner loops are kept (apps/planning/compiled.py).
os.environ.setdefault("NUMBA_CACHE_DIR", str(DATA_DIR / "compiled"))

SQLITE = {
    "ENGINE": "django.db.backends.sqlite3",
    "NAME": DATA_DIR / "lifted-boards.sqlite3",
    # select_for_update is silent on SQLite: taking the write lock at the start of a
    # transaction gives the same safety. WAL lets readers go on meanwhile.
    "OPTIONS": {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    },
}
if str(DATABASE.get("ENGINE", "")).endswith("postgresql"):
    # Connections are lent from a pool of each process, and looked at before: a database that was
    # restarted costs no request. A thread takes one only while it asks.
    DATABASE["CONN_HEALTH_CHECKS"] = True
    DATABASE["OPTIONS"] = {
        **DATABASE.get("OPTIONS", {}),
        "connect_timeout": 5,
        "pool": {"min_size": 1, "max_size": 12, "timeout": 10, "max_idle": 120},
    }
DATABASES = {"default": DATABASE or SQLITE}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "rest_framework",
    "knox",
    "axes",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "django_htmx",
    "renovation",
    "apps.checks",
    "apps.property",
    "apps.floors",
    "apps.work",
    "apps.trades",
    "apps.inspections",
    "apps.timber",
    "apps.repairs",
    "apps.planning",
    "apps.moving",
    "apps.pages",
]
MIDDLEWARE = [
    "renovation.request_ids.RequestIds",
    "renovation.health.HealthFirst",
    "renovation.headers.BrowserRules",
    "renovation.compression.CompressedPages",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "renovation.uploads.BoundedBodies",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "renovation.origins.OwnPagesOnly",
    "renovation.origins.SignedInFirst",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "renovation.urls"
WSGI_APPLICATION = "renovation.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "apps.pages.base.for_every_page",
            ]
        },
    }
]

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "UTC"
USE_TZ = True
STATIC_URL = "/static/"
# The one process serves straight from the installed packages: no collect step to forget.
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = DEBUG

KNOX_TOKEN_MODEL = "renovation.AccessToken"  # noqa: S105  # nosec B105 # a name, no secret
MIGRATION_MODULES = {"knox": None}  # its own table is never used
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
# Five wrong passwords for a name, from wherever: a quarter of an hour's wait. A sign-in address
# always works, so nobody can keep its owner out.
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = ["username"]
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_LOCKOUT_CALLABLE = "apps.pages.views.locked_out"
AXES_CLIENT_IP_CALLABLE = "renovation.callers.address_of"
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
# It warns of counting by browser or cookie, which we do not; addresses are counted by
# renovation/guessing.py, with a limit that a household behind one address does not meet.
SILENCED_SYSTEM_CHECKS = ["axes.W006"]
LOGIN_URL = "sign-in"
CSRF_FAILURE_VIEW = "apps.pages.views.refused_form"
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_NAME = "__Host-sessionid" if HTTPS else "sessionid"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if BEHIND_PROXY else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
FREE_BYTES_WANTED = FREE_MIB_WANTED * 1024 * 1024
EVIDENCE_DIR = DATA_DIR / "evidence"
COMPLETION_DIR = DATA_DIR / "completion"
HOUSE_FILES_DIR = DATA_DIR / "house-files"
HOUSE_ARRIVALS_DIR = DATA_DIR / "house-arrivals"
UPLOAD_MAX_BYTES = 25 * 1024 * 1024
# For the texts and boundaries around the file.
UPLOAD_ROOM_BYTES = 64 * 1024
# Nothing larger is read at all. Above what the API accepts, so that it is the API that says why.
BODY_MAX_BYTES = 64 * 1024 * 1024
# A whole house with its photos: only where one is brought in, by somebody who is signed in.
HOUSE_MAX_BYTES = HOUSE_MIB * 1024 * 1024
LARGE_BODIES = dict.fromkeys(
    ("/api/v1/house-arrivals/", "/houses/bring-in/"), HOUSE_MAX_BYTES + BODY_MAX_BYTES
)
# On the disk where it is kept, so that it need not be written twice.
FILE_UPLOAD_TEMP_DIR = DATA_DIR

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "renovation.tokens.ByToken",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_PARSER_CLASSES": ["renovation.parsers.BoundedJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_FILTER_BACKENDS": [
        "renovation.filters.CheckedFilterBackend",
        "renovation.filters.CheckedSearchFilter",
        "renovation.filters.CheckedOrderingFilter",
    ],
    "DEFAULT_PAGINATION_CLASS": "renovation.pagination.PageNumbers",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "renovation.problems.handle",
    # What OPTIONS would tell is in the OpenAPI document, without asking the database.
    "DEFAULT_METADATA_CLASS": None,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Lifted Boards",
    "DESCRIPTION": (
        "Job record, week plan and board holds for a one-person renovation crew.\n\n"
        "Structural, electrical, gas and asbestos matters are for licensed or chartered "
        "people and the local building control body; what is computed here is a preliminary "
        "aid and never replaces them."
    ),
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "COMPONENT_SPLIT_REQUEST": True,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    # One name for each set of choices that several resources call "state" or "kind".
    "ENUM_NAME_OVERRIDES": {
        "BoardStateEnum": "apps.floors.models.Board.State",
        "VisitStateEnum": "apps.trades.models.Visit.State",
        "InspectionStateEnum": "apps.inspections.models.Inspection.State",
        "CraftEnum": "apps.work.models.Trade.Craft",
        "DeviationStateEnum": "apps.inspections.models.Deviation.State",
        "EvidenceKindEnum": "apps.inspections.models.Evidence.Kind",
        "CompletionFileStateEnum": "apps.inspections.models.CompletionFile.State",
        "OnTheWayStateEnum": "apps.moving.models.OnTheWay.State",
        "PlanStateEnum": "apps.planning.models.Plan.State",
        "WorkPackageKindEnum": "apps.work.models.WorkPackage.Kind",
        "LinkKindEnum": "apps.work.models.Link.Kind",
        "FindingKindEnum": "apps.work.models.Finding.Kind",
        "ProbeFixingEnum": "apps.floors.models.JoistProbe.Fixing",
        "RepairFixingEnum": "apps.checks.fasteners.COMMON",
        "PieceStateEnum": "apps.timber.pieces_as_data.PieceState",
        "NeedStateEnum": "apps.timber.models.Need.State",
        "CuttingPlanStateEnum": "apps.timber.models.CuttingPlan.State",
        "TemporaryMeasureKindEnum": "apps.trades.models.TemporaryMeasure.Kind",
    },
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "renovation.schema.add_problem_answers",
    ],
}

# The cache, and locks kept in it: shared by all processes with Redis, one process's own without.
CACHES = {
    "default": {
        "BACKEND": "renovation.caches.ForgivingRedisCache",
        "LOCATION": REDIS_URL,
        "KEY_PREFIX": "lifted-boards",
        "OPTIONS": {"socket_connect_timeout": 1, "socket_timeout": 2},
    }
    if REDIS_URL
    else {
        "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
        # What is kept of a house takes a dozen small entries.
        "OPTIONS": {"MAX_ENTRIES": 5000},
    },
    # Each process's own, for what has to be counted while Redis is away (renovation/guessing.py).
    "process": {
        "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
        "LOCATION": "process",
        "OPTIONS": {"MAX_ENTRIES": 5000},
    },
}

SENDS_MAIL = bool(EMAIL_URL)
globals().update(EMAIL)
EMAIL_TIMEOUT = 20

CELERY_BROKER_URL = REDIS_URL or "memory://localhost/"
CELERY_TASK_ALWAYS_EAGER = not REDIS_URL
CELERY_TASK_EAGER_PROPAGATES = True
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
# One that runs away: periodic work is done in seconds, the long tasks have limits of their own.
CELERY_TASK_SOFT_TIME_LIMIT, CELERY_TASK_TIME_LIMIT = 120, 180
CELERY_TIMEZONE = "UTC"
# A worker waits for its broker however long it takes. A request does not: it tries twice, and
# what it could not send is sent by the sweep.
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
CELERY_BROKER_CONNECTION_TIMEOUT = 2
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "socket_connect_timeout": 1,
    "socket_timeout": 5,
    "socket_keepalive": True,
    "health_check_interval": 30,
    "visibility_timeout": 3600,
}
CELERY_TASK_PUBLISH_RETRY_POLICY = {
    "max_retries": 1, "interval_start": 0, "interval_step": 0, "interval_max": 0,
}  # fmt: skip
CELERY_BEAT_SCHEDULE = {
    name: {"task": task, "schedule": seconds, "options": {"expires": max(30.0, seconds)}}
    for name, task, seconds in (
        ("requeue-left-plans", "apps.planning.tasks.requeue_left_plans", 30.0),
        ("requeue-left-cutting-plans", "apps.timber.tasks.requeue_left_cutting_plans", 30.0),
        ("requeue-left-files", "apps.inspections.tasks.requeue_left_completion_files", 30.0),
        ("requeue-left-houses", "apps.moving.tasks.requeue_left_houses", 30.0),
        ("replan-edited", "apps.planning.tasks.replan_edited", 30.0),
        # Zones differ from each other by whole quarters of an hour.
        ("replan-at-night", "apps.planning.tasks.replan_at_night", 300.0),
        ("send-briefs", "apps.planning.tasks.send_briefs", 300.0),
        ("remind-of-measures", "apps.planning.tasks.remind_of_measures", 900.0),
        ("prune-completion-files", "apps.inspections.tasks.prune_completion_files", 24 * 3600.0),
        ("prune-house-files", "apps.moving.tasks.prune_house_files", 24 * 3600.0),
        ("sweep-evidence", "apps.inspections.tasks.sweep_evidence", 24 * 3600.0),
    )
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"ids": {"()": "renovation.log_lines.WithIds"}},
    "formatters": {
        "text": {"()": "renovation.log_lines.PlainLines"},
        "json": {"()": "renovation.log_lines.JsonLines"},
    },
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "filters": ["ids"],
            "formatter": LOG_FORMAT,
        }
    },
    # One line a request is what a server's log is for; on one laptop it is noise.
    "loggers": {
        "renovation.requests": {"level": "INFO" if LOG_FORMAT == "json" else LOG_LEVEL},
        # What it could not handle it names by its address, which may be a secret.
        "gunicorn.error": {"handlers": ["console"], "propagate": False},
    },
    "root": {"handlers": ["console"], "level": LOG_LEVEL},
}
