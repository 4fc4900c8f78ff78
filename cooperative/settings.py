"""Settings. Eight names come from the environment; what a cooperative decides for itself is rows.

HEAPS_MODE is `host` (the default: https, strict), `demo` (this machine only, plain http) or `test`.
"""

import os
from pathlib import Path

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent
MODE = os.environ.get("HEAPS_MODE", "host")
VAR_DIR = Path(os.environ.get("HEAPS_VAR", BASE_DIR / ".var"))
VAR_DIR.mkdir(parents=True, exist_ok=True)
ON_HTTPS = MODE not in ("demo", "test")  # a word that is not known is never the lax one

DEBUG = False
SECRET_KEY = os.environ.get("SECRET_KEY", "")
if not SECRET_KEY:
    if ON_HTTPS and os.environ.get("HEAPS_CHECKS") != "1":
        raise ImproperlyConfigured("Set SECRET_KEY to 50 or more random characters. The README says how.")
    SECRET_KEY = "only-for-the-demo-and-the-tests-on-this-machine-0123456789"  # noqa: S105 - never used on a host
ALLOWED_HOSTS = os.environ.get("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]").split(",")

#: How many proxies of our own stand before us. What X-Forwarded-For says beyond them is only claimed.
TRUSTED_PROXIES = int(os.environ.get("TRUSTED_PROXIES", "1" if ON_HTTPS else "0"))

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.messages",
    "django.contrib.sessions",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "csp",
    "cooperative",
    "heaps",
    "members",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",  # before the policy: it is for pages, and a file is smaller without
    "csp.middleware.CSPMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "cooperative.packing.PackingMiddleware",
    "members.sessions.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]
ROOT_URLCONF = "cooperative.urls"
WSGI_APPLICATION = "cooperative.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "heaps.stewards.care_in_templates",
                "cooperative.backup_views.copies_in_templates",
            ],
            "loaders": [
                (
                    "django.template.loaders.cached.Loader",
                    ["django.template.loaders.filesystem.Loader"],
                )
            ],
        },
    }
]

# A receipt ends an entry's wait on the phone, so a commit must reach the disk before it is answered.
# SQLite before 3.51.3 can damage a database in WAL mode when two connections write at the same moment
# (SQLite release notes 3.51.3), hence the rollback journal; EXTRA also syncs the journal's folder.
DATABASES = {
    "default": dj_database_url.parse(
        os.environ.get("DATABASE_URL", f"sqlite:///{VAR_DIR / 'heaps.sqlite3'}"),
        conn_max_age=60,
        conn_health_checks=True,
    )
}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=DELETE; PRAGMA synchronous=EXTRA;",
    }
    DATABASES["default"]["TEST"] = {"NAME": str(VAR_DIR / "test.sqlite3")}
else:  # nobody waits longer than on SQLite for what another holds: they are told to come back
    DATABASES["default"].setdefault("OPTIONS", {}).setdefault("options", "-c lock_timeout=20s")
#: A database that is thrown away after the tests need not outlive a power cut. Nothing else may say this.
WEAK_DATABASE_FOR_TESTS = MODE == "test" and os.environ.get("HEAPS_WEAK_DATABASE") == "for tests only"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "members.Member"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 8}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
if MODE == "test":
    PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
LOGIN_URL = "members:sign_in"
LOGIN_REDIRECT_URL = "/"
SESSION_ENGINE = "members.sessions"
SESSION_COOKIE_AGE = 90 * 24 * 3600  # volunteers come weekly, not hourly
SESSION_COOKIE_NAME = "__Host-session" if ON_HTTPS else "session"
CSRF_COOKIE_NAME = "__Host-csrf" if ON_HTTPS else "csrf"
CSRF_COOKIE_HTTPONLY = True
CSRF_FAILURE_VIEW = "cooperative.views.csrf_failure"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = ON_HTTPS
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if ON_HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = ON_HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if ON_HTTPS else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
FILE_UPLOAD_HANDLERS = ["heaps.importing.shelf.ToDisk"]  # it knows the addresses that take files
FILE_UPLOAD_TEMP_DIR = VAR_DIR / "imports"
FILE_UPLOAD_TEMP_DIR.mkdir(mode=0o700, exist_ok=True)
BACKUP_DIR = VAR_DIR / "backups"  # where `manage.py backup` puts copies, and notes how its last run went
DATA_UPLOAD_MAX_MEMORY_SIZE = 1_000_000  # 50 entries are some 20 kB; more is answered with a plain reason

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "object-src": [NONE],
    }
}

USE_TZ = True
TIME_ZONE = "UTC"  # each site has its own; pages and days use the site's
#: The languages that pages are in: the cooperative's own, and after a comma those that a phone may ask for instead.
LANGUAGES = [(code, code) for code in (os.environ.get("HEAPS_LANGUAGE") or "en-gb").replace(" ", "").split(",")]
LANGUAGE_CODE = LANGUAGES[0][0]
LOCALE_PATHS = [VAR_DIR / "locale", BASE_DIR / "locale"]
USE_I18N = True

#: A worker that does harm is taken off all phones by HEAPS_WORKER=off. What is recorded on them stays.
WORKER_OFF = os.environ.get("HEAPS_WORKER") == "off"

STATIC_URL = "/static/"
STATIC_ROOT = VAR_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.FileSystemFinder"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "cooperative.assets.HashedAssets"},
}
WHITENOISE_ALLOW_ALL_ORIGINS = False  # no other site's pages need our files
WHITENOISE_MAX_AGE = 0  # hashed names are cached for ever by WhiteNoise itself; the rest is asked for again

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"without_secrets": {"()": "cooperative.logs.WithoutSecrets"}},
    "formatters": {"one_line": {"()": "cooperative.logs.OneLine"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "filters": ["without_secrets"], "formatter": "one_line"}
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {"django.server": {"handlers": ["console"], "level": "INFO", "propagate": False}},  # runserver's own
}
