"""Settings, each read once from the environment through a typed reader.

The table of variables stands in DEVELOPERS.md; a test compares it with this file.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path
from urllib.parse import urlsplit

from config import environment as env
from config.api_settings import SPECTACULAR_SETTINGS as SPECTACULAR_SETTINGS

BASE_DIR = Path(__file__).resolve().parent.parent

DEBUG = env.boolean("ROOFREG_DEBUG", default="no")
# Outside debug there is no default secret.
SECRET_KEY = env.text("ROOFREG_SECRET_KEY", "only-for-debug" if DEBUG else None)
DATA_DIR = env.folder("ROOFREG_DATA_DIR", default=BASE_DIR / "var")
# Empty: exhibits in the data folder. Else s3://bucket/prefix?endpoint=...&region=...
STORE_URL = env.url("ROOFREG_STORE_URL", default="", schemes=("s3",))
# Signs the ledger's checkpoints; never in the database, readable by its owner alone.
SIGNING_KEY_FILE = env.folder(
    "ROOFREG_SIGNING_KEY_FILE", default=DATA_DIR / "signing-key"
)
SITE_URL = env.url(
    "ROOFREG_SITE_URL", default="http://127.0.0.1:8000", schemes=("http", "https")
).rstrip("/")
OFFICE_TIME_ZONE = env.text("ROOFREG_TIME_ZONE", "America/Detroit")
COMPANY_NAME = env.text("ROOFREG_COMPANY_NAME", "Harrow Lake Coach Roofs")
COMPANY_ADDRESS = env.text(
    "ROOFREG_COMPANY_ADDRESS", "4 Boathouse Lane, Harrow Lake (invented)"
)

# A claim is answered within so many business days; the office is closed on holidays.
RESPONSE_DAYS = env.integer("ROOFREG_RESPONSE_DAYS", default=10, minimum=1)
HOLIDAYS = frozenset(env.days("ROOFREG_HOLIDAYS"))
# An approval above this amount needs a second person.
SECOND_APPROVAL_CENTS = env.integer("ROOFREG_SECOND_APPROVAL_CENTS", default=250_000)

_host = urlsplit(SITE_URL).hostname or "127.0.0.1"
ALLOWED_HOSTS = [_host, *env.words("ROOFREG_ALLOWED_HOSTS")]
CSRF_TRUSTED_ORIGINS = [SITE_URL]
CSRF_FAILURE_VIEW = "fleet.api.outside.csrf_failure"
_secure = SITE_URL.startswith("https://")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = _secure
SESSION_COOKIE_HTTPONLY = True
if _secure:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_HSTS_SECONDS = 31_536_000
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# Files only, never inline: pages carry no script and no style of their own.
CONTENT_SECURITY_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; "
    "object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_filters",
    "django_htmx",
    "rest_framework",
    "drf_spectacular",
    "config",
    "fleet",
    "warranty",
    "jobs",
]

MIDDLEWARE = [
    "config.middleware.SecurityHeaders",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "config" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "config.context.office",
            ]
        },
    }
]

DATABASES = {
    "default": env.database(
        "ROOFREG_DATABASE_URL",
        default=f"sqlite:///{DATA_DIR / 'roof-register.sqlite3'}",
    )
}
DATABASES["default"].setdefault("OPTIONS", {})
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # SQLite before 3.51.3 (or its backports) can damage a write-ahead log that two
    # processes share, and web and runner are two: the rollback journal is safe.
    _wal_is_safe = sqlite3.sqlite_version_info >= (3, 51, 3) or (
        sqlite3.sqlite_version_info in {(3, 44, 6), (3, 50, 7)}
    )
    _journal = "WAL" if _wal_is_safe else "DELETE"
    DATABASES["default"]["OPTIONS"] = {
        # Deferred transactions fail at once when a reader turns writer.
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": f"PRAGMA journal_mode={_journal};PRAGMA synchronous=FULL;",
    }
else:
    DATABASES["default"]["CONN_MAX_AGE"] = 60
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True

AUTH_USER_MODEL = "fleet.User"
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "roof-list"
LOGOUT_REDIRECT_URL = "sign-in"

LANGUAGE_CODE = "en-us"
TIME_ZONE = "UTC"
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "config" / "static"]
STATIC_ROOT = BASE_DIR / "staticfiles"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024

# Called once per recording, inside its transaction, with the roofs concerned.
LEDGER_SUBSCRIBERS = [
    "warranty.actions.reassess.after_recording",
]
# Answers which roof and holder a claim's id belongs to: an exhibit may name a claim.
CLAIM_PLACE = "warranty.selectors.claims.place_of_claim"

# Empty: the runner beside the web process drains the same rows without a broker.
BROKER_URL = env.url("ROOFREG_BROKER_URL", default="", schemes=("redis", "rediss"))

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "rest_framework.authentication.SessionAuthentication",
        "rest_framework.authentication.BasicAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "fleet.api.errors.problem_response",
    "UNAUTHENTICATED_USER": "django.contrib.auth.models.AnonymousUser",
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {"format": "{asctime} {levelname} {name} {message}", "style": "{"}
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "INFO"},
}
