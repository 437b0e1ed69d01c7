"""Every setting, in one place. What differs from one installation to the next is read from the environment:

SILLBOOK_DATA   folder for all that is kept (default: .data beside manage.py)
DATABASE_URL    postgresql://… ; without it, SQLite in the data folder
REDIS_URL       redis://… ; without it, a broker of our own is started
SECRET_KEY      without it, one is made on first start and kept in the data folder
ALLOWED_HOSTS   names under which the site is reached, commas between
HTTPS           on, when a proxy in front speaks HTTPS: cookies and redirects then insist on it
PROXIES         how many proxies stand in front (default: 1 with HTTPS, else 0)
BIND, PORT      where the web server listens (default: 127.0.0.1, 8000)
WEB_WORKERS     web processes (default: 2)
EMAIL_HOST, EMAIL_PORT, EMAIL_HOST_USER, EMAIL_HOST_PASSWORD, EMAIL_USE_TLS, DEFAULT_FROM_EMAIL
                how mail goes out; without EMAIL_HOST each mail is a file in the data folder
DEBUG           on, for working on the code only
"""

import os
from datetime import timedelta
from pathlib import Path
from typing import Any

from celery.schedules import crontab
from csp.constants import NONE, SELF

from dashboard import environment

BASE_DIR = Path(__file__).resolve().parent.parent
DATA = environment.folder("SILLBOOK_DATA", BASE_DIR / ".data")

SECRET_KEY = environment.secret_key(DATA)
DEBUG = environment.switch("DEBUG")
HTTPS = environment.switch("HTTPS")
PROXIES = environment.number("PROXIES", default=int(HTTPS), least=0, most=10)
BIND = os.environ.get("BIND", "127.0.0.1")
PORT = environment.number("PORT", default=8000, least=1, most=65535)
WEB_WORKERS = environment.number("WEB_WORKERS", default=2, least=1, most=64)
ALLOWED_HOSTS = environment.words("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]")

# --- the site -------------------------------------------------------------------------------------------------------

INSTALLED_APPS = [
    "dashboard",
    "inspections",
    "units",
    "jobs",
    "django.contrib.admin.apps.SimpleAdminConfig",  # for repair only: dashboard/repair.py
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "knox",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "axes",
    "csp",
    "django_htmx",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "dashboard.content_policy.ContentPolicy",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "dashboard.languages.SitePageInItsOwn",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "dashboard.urls"
WSGI_APPLICATION = "dashboard.wsgi.application"
APPEND_SLASH = True
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
                "dashboard.views.pages.office_line",
            ],
        },
    },
]

# --- what is kept ---------------------------------------------------------------------------------------------------

DATABASES = {"default": {"ATOMIC_REQUESTS": False, **environment.database(os.environ.get("DATABASE_URL", ""), DATA)}}
REDIS_URL, CELERY_BROKER_URL = environment.broker(os.environ.get("REDIS_URL", ""), DATA)
OWN_BROKER = not os.environ.get("REDIS_URL")
CACHES = {
    "default": {"BACKEND": "dashboard.cache.ForgivingRedisCache", "LOCATION": REDIS_URL, "KEY_PREFIX": "sillbook"}
}

MEDIA_ROOT = DATA / "photos"
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_HANDLERS = [
    "dashboard.uploads.NotTooLarge",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]
DATA_UPLOAD_MAX_MEMORY_SIZE = 8 * 1024 * 1024
# A door system's form has a field for every value of every row, a delivery's for every part: the tables at their
# longest. Both are read in less time than one picture.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 12_000
DATA_UPLOAD_MAX_NUMBER_FILES = 250  # a photo for each part of a delivery

STATIC_URL = "static/"
STATIC_ROOT = DATA / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "dashboard.static_files.NamedByContent"},
}

# --- who signs in ---------------------------------------------------------------------------------------------------

AUTH_USER_MODEL = "jobs.User"
KNOX_TOKEN_MODEL = "jobs.AccessToken"
# knox's own table is replaced by ours; its migrations would make the unused one all the same.
MIGRATION_MODULES = {"knox": None}
REST_KNOX = {
    "TOKEN_TTL": timedelta(days=90),
    "AUTO_REFRESH": False,
    "AUTH_HEADER_PREFIX": "Bearer",
    "TOKEN_PREFIX": "sill_",  # lets a scanner of repositories and logs recognise a token that leaked
}
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "sign-in"

# Five wrong passwords for one name from one address: that pair waits a quarter of an hour. The name alone is not
# locked, or anybody could keep the office out by guessing badly.
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_CLIENT_IP_CALLABLE = "dashboard.address.client_address"
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
AXES_LOCKOUT_CALLABLE = "dashboard.views.sign_in.locked_out"

# --- keeping strangers out ------------------------------------------------------------------------------------------

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "object-src": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
CSRF_FAILURE_VIEW = "dashboard.views.sign_in.opened_before"
SECURE_SSL_REDIRECT = HTTPS
SECURE_REDIRECT_EXEMPT = [r"^health/$"]  # asked from inside, where nobody speaks HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS and PROXIES else None
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if HTTPS and host != "*"]

# --- languages and time ---------------------------------------------------------------------------------------------

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
LOCALE_PATHS = [BASE_DIR / "dashboard" / "locale"]
USE_TZ = True
TIME_ZONE = "UTC"

# --- the API --------------------------------------------------------------------------------------------------------

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "jobs.rest.signin.BearerToken",
        "jobs.rest.signin.BySession",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_THROTTLE_CLASSES": ["jobs.rest.throttles.ByTheMinute"],
    "DEFAULT_RENDERER_CLASSES": ["jobs.rest.bodies.FastJSON"],
    "DEFAULT_PARSER_CLASSES": ["jobs.rest.bodies.StrictJSON"],
    "DEFAULT_SCHEMA_CLASS": "jobs.rest.schema.Described",
    "DEFAULT_METADATA_CLASS": None,  # what there is to know stands in the schema
    "EXCEPTION_HANDLER": "dashboard.problems.problem_response",
    "UNAUTHENTICATED_USER": "django.contrib.auth.models.AnonymousUser",
    "NUM_PROXIES": PROXIES,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}

# How many requests a minute one person may make, all their tokens together; of `tokens` and the builder's, one address.
RATES = {"reads": 3000, "writes": 600, "entries": 60, "calculations": 600, "tokens": 20, "builder-pages": 60,
         "builder-reports": 10}

SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Sillbook",
    "DESCRIPTION": "The one record of every job, opening, unit and panel.\n\n"
    "**Lengths** come in as a number of millimetres or as text in any unit (`96 1/2\"`, `8' 0-1/2\"`, `245.11 cm`), "
    "and go out as decimal strings of millimetres in fields ending `_mm`. "
    "**Errors** are problem documents (RFC 9457) that name the field and say what would be right. "
    "**Lists** come in pages: follow `next`. "
    "**ETag** and `If-None-Match` save what has not changed. The ETag of an office record starts with its version; "
    "send it as `If-Match` when changing the record (428 without it, 412 when somebody was faster). "
    "**`Idempotency-Key`** lets a request that does something be sent again for 24 hours: the first answer is given "
    "again, "
    "422 when the key came with another request, 409 while the first is still at work. A refusal is not kept: nothing "
    "was done. **Entries from site** carry an `id` of their own (UUID version 7); sent twice they are one record.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "COMPONENT_SPLIT_REQUEST": True,
    "POSTPROCESSING_HOOKS": [],
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
}

# --- work for later -------------------------------------------------------------------------------------------------

# A task whose worker was killed comes back this long after it was taken (and one look round later). A task that runs
# longer than this is started a second time beside itself, so every task is stopped well before.
TASK_COMES_BACK_AFTER = environment.number("TASK_COMES_BACK_AFTER", default=60, least=3, most=3600)

CELERY_TASK_TIME_LIMIT = TASK_COMES_BACK_AFTER * 5 // 6
CELERY_TASK_SOFT_TIME_LIMIT = TASK_COMES_BACK_AFTER * 2 // 3
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "visibility_timeout": TASK_COMES_BACK_AFTER,
    "unacked_restore_interval": 2,
    "unacked_restore_throttle": 1,
    "socket_connect_timeout": 5,
    "socket_keepalive": True,
}
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULER = "dashboard.beat:OnlyOneScheduler"
CELERY_BEAT_SCHEDULE_FILENAME = str(DATA / "beat-schedule")
CELERY_BEAT_MAX_LOOP_INTERVAL = 5
CELERY_BEAT_SCHEDULE: dict[str, dict[str, Any]] = {
    "forget expired sign-ins": {
        "task": "dashboard.tasks.forget_expired_sign_ins",
        "schedule": crontab(hour=3, minute=20),
    },
    "forget old answers": {
        "task": "dashboard.tasks.forget_old_answers",
        "schedule": crontab(minute=40),
    },
    "make missing thumbnails": {
        "task": "inspections.tasks.make_missing_thumbnails",
        "schedule": timedelta(seconds=10),
        "options": {"expires": 10},
    },
    "see what no longer counts": {
        "task": "inspections.tasks.refresh_readiness",
        "schedule": timedelta(minutes=10),
        "options": {"expires": 570},
    },
    "plan reminders": {
        "task": "inspections.tasks.plan_reminders",
        "schedule": timedelta(minutes=1),
        "options": {"expires": 55},
    },
    "send reminders": {
        "task": "inspections.tasks.send_reminders",
        "schedule": timedelta(minutes=1),
        "options": {"expires": 55},
    },
}

# --- mail -----------------------------------------------------------------------------------------------------------

EMAIL_HOST = os.environ.get("EMAIL_HOST", "")
EMAIL_HOST_USER = os.environ.get("EMAIL_HOST_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("EMAIL_HOST_PASSWORD", "")
EMAIL_USE_TLS = environment.switch("EMAIL_USE_TLS")
EMAIL_PORT = environment.number("EMAIL_PORT", default=587 if EMAIL_USE_TLS else 25, least=1, most=65535)
EMAIL_TIMEOUT = 10
EMAIL_FILE_PATH = DATA / "mail"
EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend" if EMAIL_HOST else "dashboard.mail.FolderBackend"
DEFAULT_FROM_EMAIL = SERVER_EMAIL = os.environ.get("DEFAULT_FROM_EMAIL", "Sillbook <sillbook@localhost>")

# --- what is written down about running -----------------------------------------------------------------------------

LOGGING: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {name: {"level": "INFO"} for name in ("jobs", "units", "inspections", "dashboard")}
    | {"django": {"handlers": [], "level": "WARNING", "propagate": True}}
    | {"django.request": {"level": "ERROR"}},  # a refusal is an answer, not something for whoever watches the machine
}
