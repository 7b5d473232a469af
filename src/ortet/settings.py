"""Everything the environment may say, read in one place.

ORTET_FOLDER    where the book, photos, the secret and the farm's certificates lie; default: the user's data folder
ORTET_DATABASE  a postgresql:// address; default: one SQLite file in the folder
ORTET_HOSTS     names, comma-separated, under which the pages may be reached besides loopback
"""

import os
import secrets
from contextlib import suppress
from pathlib import Path

from platformdirs import user_data_path

from ortet import __version__ as ORTET_VERSION

BASE_DIR = Path(__file__).resolve().parent
FOLDER = Path(os.environ.get("ORTET_FOLDER") or user_data_path("ortet", appauthor=False))


def _secret_key() -> str:
    """Return this installation's own secret, made on first use and readable by its owner only."""
    path = FOLDER / "secret"
    try:
        FOLDER.mkdir(
            mode=0o700, parents=True, exist_ok=True
        )  # nobody else's: the book holds names and passwords
        with suppress(FileNotFoundError):
            if key := path.read_text().strip():
                return key
        # Written beside and linked into place, so that of two first starts at once both read the same.
        half = FOLDER / f"secret.{os.getpid()}"
        with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(50))
        with suppress(FileExistsError):
            os.link(half, path)
        half.unlink()
        return path.read_text().strip()
    except OSError as error:
        raise SystemExit(
            f"The folder {FOLDER} cannot be used: {error.strerror}. Name another in ORTET_FOLDER. Nothing was changed."
        ) from None


def _database() -> dict:
    """Return Django's description of the database: the SQLite file, or the server that ORTET_DATABASE names."""
    url = os.environ.get("ORTET_DATABASE", "")
    if not url:
        return {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": FOLDER / "book.sqlite3",
            "OPTIONS": {
                # IMMEDIATE: a deed takes its turn before it reads, so what it read still holds when it writes.
                "transaction_mode": "IMMEDIATE",
                "timeout": 20,
                # secure_delete: what a buyer was erased from is overwritten, and not merely free to be.
                "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA cache_size=-32000; PRAGMA secure_delete=ON;",
            },
        }
    if not url.startswith(("postgresql://", "postgres://")):
        raise SystemExit(
            f"ORTET_DATABASE is {url.split(':')[0]!r}…: only a postgresql:// address is understood. "
            "Unset it to use the SQLite file. Nothing was opened."
        )
    from psycopg.conninfo import conninfo_to_dict

    said = conninfo_to_dict(url)
    known = {"dbname": "NAME", "user": "USER", "password": "PASSWORD", "host": "HOST", "port": "PORT"}
    database = {known[key]: str(value) for key, value in said.items() if key in known}
    options = {key: value for key, value in said.items() if key not in known}
    return {
        "ENGINE": "django.db.backends.postgresql",
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
        **database,
        "OPTIONS": options,
    }


VERSION = ORTET_VERSION
SECRET_KEY = _secret_key()
DEBUG = False
HOSTS = [name.strip() for name in os.environ.get("ORTET_HOSTS", "").split(",") if name.strip()]
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]", *HOSTS]  # and, with --farm, this machine's own addresses
CSRF_TRUSTED_ORIGINS = [f"https://{name}" for name in HOSTS]  # behind a proxy that speaks TLS

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "ortet.ledger",
    "ortet.pages",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "ortet.pages.policy.OnlyOwnThings",
    "ortet.pages.policy.CookiesOnlyAsTheyCame",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "ortet.pages.access.OnlyKnownHands",
    "ortet.pages.access.GrowersClock",
]
ROOT_URLCONF = "ortet.pages.urls"
WSGI_APPLICATION = "ortet.pages.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "ortet.pages.context.nursery",
            ],
            "builtins": ["django.templatetags.i18n", "ortet.pages.templatetags.say"],
        },
    }
]
DATABASES = {"default": _database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

LANGUAGE_CODE = "en"
LANGUAGES = [
    ("en", "English"),
    ("nl", "Nederlands"),
]  # each by its own name; a browser's wish decides until one is chosen
LOCALE_PATHS = [Path(__file__).parent / "languages"]
FORMAT_MODULE_PATH = "ortet.pages.formats"
LANGUAGE_COOKIE_SAMESITE = "Lax"
USE_TZ = True
TIME_ZONE = "UTC"  # times are kept in UTC; GrowersClock shows them in the nursery's own zone

STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True  # served as they lie in the package: nothing to collect
WHITENOISE_AUTOREFRESH = False
WHITENOISE_MIMETYPES = {".webmanifest": "application/manifest+json"}  # W3C, Web Application Manifest

LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "today"
SESSION_COOKIE_SAMESITE = "Lax"
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 20_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 20_000  # one task may name every bag of a store

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"keep_keys": {"()": "ortet.pages.logs.KeepKeys"}},
    "formatters": {"without_rows": {"()": "ortet.pages.logs.WithoutRows"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "filters": ["keep_keys"], "formatter": "without_rows"}
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
    # whoever looks round on the farm's network asks for names that are not ours: refused, and not worth a page of trace
    "loggers": {"django.security.DisallowedHost": {"level": "CRITICAL"}},
}
