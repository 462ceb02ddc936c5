"""All settings, from the environment, with defaults that let a fresh clone run.

Every variable is read in the first block; the table in docs/reference/settings.md lists
the same ones (a test compares them).
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from environs import Env

from renovation.secrets import kept_secret

BASE_DIR = Path(__file__).resolve().parent.parent

env = Env(eager=False)
DATA_DIR: Path = env.path("LIFTED_BOARDS_DATA", BASE_DIR / "data").resolve()
DATABASE_URL: str = env.str("DATABASE_URL", "")
REDIS_URL: str = env.str("REDIS_URL", "")
SECRET_KEY: str = env.str("LIFTED_BOARDS_SECRET_KEY", "")
ALLOWED_HOSTS: list[str] = env.list("LIFTED_BOARDS_HOSTS", ["127.0.0.1", "localhost", "[::1]"])
CSRF_TRUSTED_ORIGINS: list[str] = env.list("LIFTED_BOARDS_ORIGINS", [])
DEBUG: bool = env.bool("LIFTED_BOARDS_DEBUG", False)
PLAN_SECONDS: float = env.float("LIFTED_BOARDS_PLAN_SECONDS", 5.0)
LOG_LEVEL: str = env.str("LIFTED_BOARDS_LOG_LEVEL", "WARNING")
DATABASE: dict[str, Any] | None = (
    dict(env.dj_db_url("DATABASE_URL", conn_max_age=60)) if DATABASE_URL else None
)
env.seal()

# Its owner only: the database holds phone numbers and the API token.
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
DATABASES = {"default": DATABASE or SQLITE}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "rest_framework",
    "rest_framework.authtoken",
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
    "apps.pages",
]
MIDDLEWARE = [
    "renovation.headers.BrowserRules",
    "renovation.compression.CompressedPages",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
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

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign-in"
CSRF_FAILURE_VIEW = "apps.pages.views.refused_form"
SESSION_COOKIE_SAMESITE = "Lax"
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
EVIDENCE_DIR = DATA_DIR / "evidence"
COMPLETION_DIR = DATA_DIR / "completion"
UPLOAD_MAX_BYTES = 25 * 1024 * 1024
# For the texts and boundaries around the file.
UPLOAD_ROOM_BYTES = 64 * 1024

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "rest_framework.authentication.TokenAuthentication",
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

CELERY_BROKER_URL = REDIS_URL or "memory://localhost/"
CELERY_TASK_ALWAYS_EAGER = not REDIS_URL
CELERY_TASK_EAGER_PROPAGATES = True
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TIMEZONE = "UTC"
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BEAT_SCHEDULE = {
    "requeue-left-plans": {
        "task": "apps.planning.tasks.requeue_left_plans",
        "schedule": 60.0,
    },
    "requeue-left-cutting-plans": {
        "task": "apps.timber.tasks.requeue_left_cutting_plans",
        "schedule": 60.0,
    },
    "requeue-left-completion-files": {
        "task": "apps.inspections.tasks.requeue_left_completion_files",
        "schedule": 60.0,
    },
    "sweep-evidence": {
        "task": "apps.inspections.tasks.sweep_evidence",
        "schedule": 24 * 3600.0,
    },
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": LOG_LEVEL},
}
