"""Settings of Plate & Rod, read from the environment; see README.md, "Installing for real"."""

import os
import secrets
from pathlib import Path

import environ
from csp.constants import NONE, SELF

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = BASE_DIR / ".var"
VAR_DIR.mkdir(exist_ok=True)

env = environ.Env()
APP_ENV = env.str("APP_ENV", default="development")
if APP_ENV not in {"development", "production"}:
    raise environ.ImproperlyConfigured("APP_ENV must be development or production")
PRODUCTION = APP_ENV == "production"
DEBUG = env.bool("DEBUG", default=False) and not PRODUCTION


def _local_secret_key() -> str:
    """Return the key in `.var/`, made at first start; whole even when two processes race for it."""
    path = VAR_DIR / "secret_key"
    if not path.exists():
        draft = VAR_DIR / f"secret_key.{os.getpid()}.{secrets.token_hex(4)}"
        draft.touch(mode=0o600)
        draft.write_text(secrets.token_urlsafe(50))
        try:
            os.link(draft, path)
        except FileExistsError:
            pass  # another process was first; its key is whole, because link is atomic
        finally:
            draft.unlink()
    return path.read_text()


if PRODUCTION:
    SECRET_KEY = env.str("SECRET_KEY")
    ALLOWED_HOSTS = env.list("ALLOWED_HOSTS")
    CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])
    SECURE_SSL_REDIRECT = True
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    if env.bool("BEHIND_PROXY", default=False):
        SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
else:
    SECRET_KEY = env.str("SECRET_KEY", default="") or _local_secret_key()
    ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["*"])

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "csp",
    "axes",
    "simple_history",
    "shared",
    "shared.people",
    "curriculum",
    "grading",
    "inventory",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shared.http.htmx_redirects",
    "shared.people.middleware.signed_in_pages",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "shared.urls"
WSGI_APPLICATION = "shared.wsgi.application"
ASGI_APPLICATION = "shared.asgi.application"
CSRF_FAILURE_VIEW = "shared.http.csrf_failure"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shared.people.context.page_head",
            ],
            "builtins": [
                "django.templatetags.i18n",
                "shared.templatetags.quantities",
                "shared.templatetags.look",
            ],
        },
    },
]

DATABASES = {
    "default": env.db("DATABASE_URL", default=f"sqlite:///{VAR_DIR / 'plate_and_rod.sqlite3'}")
}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    }
else:
    DATABASES["default"]["CONN_MAX_AGE"] = env.int("CONN_MAX_AGE", default=60)
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True

AUTH_USER_MODEL = "people.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "shared.people.backends.PasswordBackend",
    "shared.people.backends.PinBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "people:sign_in"
LOGIN_REDIRECT_URL = "people:home"
LOGOUT_REDIRECT_URL = "people:sign_in"

SESSION_ENGINE = "django.contrib.sessions.backends.db"
SESSION_COOKIE_AGE = 60 * 60 * 12
SESSION_COOKIE_SAMESITE = "Lax"
IDLE_MINUTES = 240  # a person's own device
TABLET_IDLE_MINUTES = 5  # a shared tablet signed in by PIN

# A school shares one address, so a lock is by sign-in name together with the address, never by
# the address alone. PINs have their own limit per person and per tablet (shared.people.pins).
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25  # hours
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "people/locked.html"
AXES_VERBOSE = False

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
LOCALE_PATHS = [BASE_DIR / "shared" / "locale"]
FORMAT_MODULE_PATH = "shared.formats"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATIC_ROOT = VAR_DIR / "staticfiles"
STATICFILES_DIRS = [BASE_DIR / "static"]
CACHES = {
    "default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"},
    "pictures": {  # some 2 kB each
        "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
        "LOCATION": "pictures",
        "TIMEOUT": None,
        "OPTIONS": {"MAX_ENTRIES": 5000},
    },
}

STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
        if PRODUCTION
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}
if not PRODUCTION:
    WHITENOISE_USE_FINDERS = True
    WHITENOISE_AUTOREFRESH = True

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "object-src": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
UPLOAD_MAX_BYTES = 2 * 1024 * 1024
UPLOAD_MAX_ROWS = 5_000

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    # The PDF writer warns of each screen rule that paper does not know: a hundred lines a sheet.
    "loggers": {"weasyprint": {"level": "ERROR"}},
}
