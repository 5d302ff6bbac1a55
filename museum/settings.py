"""The program's settings. A clone runs with what bin/demo sets; a server sets the variables of docker/env.example."""

import os
import sys
from pathlib import Path

from django.utils.translation import gettext_lazy as _

from museum import env

BASE_DIR = Path(__file__).resolve().parent.parent
DEMO = env.flag("BURGONET_DEMO")
TESTING = env.flag("BURGONET_TEST")
DEBUG = env.flag("DEBUG")
SECRET_KEY = env.text("SECRET_KEY")
ALLOWED_HOSTS = env.words("ALLOWED_HOSTS", "*" if DEMO or TESTING else "localhost,127.0.0.1")
CSRF_TRUSTED_ORIGINS = env.words("CSRF_TRUSTED_ORIGINS")
VAR_DIR = Path(env.text("BURGONET_VAR", str(BASE_DIR / "var")))
# Files of loggers that a program or a person puts here are taken by themselves.
CLIMATE_FOLDER = Path(env.text("CLIMATE_FOLDER", str(VAR_DIR / "climate")))
SITE_URL = env.text("SITE_URL", "http://localhost:8000")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.postgres",
    "django.forms",
    "rest_framework",
    "drf_spectacular",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
    "museum.history",
    "museum.people",
    "museum.jobs",
    "museum.papers",
    "museum.web",
    "collection.objects",
    "conservation.rules",
    "locations.places",
    "locations.climate",
    "conservation.checks",
    "conservation.treatments",
    "collection.exchange",
    "reports",
    "museum.desk",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "museum.web.middleware.Compression",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "museum.web.middleware.ContentSecurityPolicy",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django_otp.middleware.OTPMiddleware",
    "museum.people.middleware.SignedIn",
    "conservation.rules.middleware.RulesHeld",
    "museum.web.middleware.Bounds",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "museum.web.middleware.DomainErrors",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "museum.urls"
WSGI_APPLICATION = "museum.wsgi.application"
FORM_RENDERER = "museum.web.forms.Renderer"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "museum.web.context.page",
            ],
            "builtins": ["museum.web.templatetags.look"],
        },
    }
]

# Two roles: the program's own adds facts and cannot change them; the owner migrates (museum/history/guard.py).
DATABASES = {"default": env.database(env.text("DATABASE_URL"))}
DATABASES["default"]["CONN_MAX_AGE"] = 0 if TESTING else 60
DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
OWNER_DATABASE_URL = env.text("OWNER_DATABASE_URL", "")
if OWNER_DATABASE_URL and not TESTING:
    DATABASES["owner"] = env.database(OWNER_DATABASE_URL) | {"TEST": {"MIRROR": "default"}}

REDIS_URL = env.text("REDIS_URL", "redis://localhost:6379/0")
CELERY_BROKER_URL = REDIS_URL
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TIMEZONE = env.text("SOCIETY_TIME_ZONE", "Europe/London")

CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.redis.RedisCache",
        "LOCATION": REDIS_URL.replace("redis+socket://", "unix://"),
        "KEY_PREFIX": "burgonet",
    }
}
SESSION_ENGINE = "django.contrib.sessions.backends.db"
SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SITE_URL.startswith("https:")
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
# How many proxies of ours stand one before the other; only what they add to X-Forwarded-For is believed.
PROXIES = env.number("BEHIND_PROXY", 0)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if PROXIES else None
# A browser that came by HTTPS once does not come without it for a year.
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if SITE_URL.startswith("https:") else 0
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "museum.web.views.csrf_failure"

AUTH_USER_MODEL = "people.Person"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "museum.people.backends.ByPassword", "museum.people.backends.ByPin"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
if TESTING:
    PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
LOGIN_URL = "people:sign_in"
LOGIN_REDIRECT_URL = "desk:today"
LOGOUT_REDIRECT_URL = "people:sign_in"
# A demo without a second factor can be looked at by anybody; everything else asks for it.
SECOND_FACTOR = env.flag("SECOND_FACTOR", not DEMO)
OTP_TOTP_ISSUER = "Burgonet"
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_CALLABLE = "museum.people.views.locked_out"
AXES_VERBOSE = False
AXES_CLIENT_IP_CALLABLE = "museum.people.address.address_of"
# The key under which Django passes the address on; and what a failed try must not leave readable in a table.
AXES_USERNAME_FORM_FIELD = "username"
AXES_SENSITIVE_PARAMETERS = ["email", "pin", "code", "old", "new"]
AXES_DISABLE_ACCESS_LOG = True
TABLET_SESSION_SECONDS = 15 * 60

LANGUAGE_CODE = "en"
LANGUAGES = [("en", _("English")), ("de", _("German")), ("fr", _("French"))]
LOCALE_PATHS = [BASE_DIR / "museum" / "locale"]
TIME_ZONE = env.text("SOCIETY_TIME_ZONE", "Europe/London")
USE_TZ = True
USE_I18N = True
FORMAT_MODULE_PATH = ["museum.formats"]

STATIC_URL = "/static/"
STATIC_ROOT = VAR_DIR / "static"
WHITENOISE_USE_FINDERS = DEMO or TESTING
WHITENOISE_AUTOREFRESH = False
WHITENOISE_MAX_AGE = 3600
FILES_DIR = VAR_DIR / "files"
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5_000

EMAIL_HOST = env.text("EMAIL_HOST", "localhost")
EMAIL_PORT = env.number("EMAIL_PORT", 25)
EMAIL_HOST_USER = env.text("EMAIL_HOST_USER", "")
EMAIL_HOST_PASSWORD = env.text("EMAIL_HOST_PASSWORD", "")
EMAIL_USE_TLS = env.flag("EMAIL_USE_TLS")
EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = env.text("MAIL_FROM", "burgonet@example.org")
# Without a mail server the demo writes its mail into files, so that it can be read.
if DEMO and "EMAIL_HOST" not in os.environ:
    EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    EMAIL_FILE_PATH = VAR_DIR / "mail"

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.SessionAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "museum.web.errors.problem_json",
    "DEFAULT_THROTTLE_CLASSES": ["museum.web.throttle.APerson"],
    # Of one person, by all their programs; as many as never stop somebody at work.
    "DEFAULT_THROTTLE_RATES": {"user": None if TESTING else env.text("API_RATE", "600/min")},
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Burgonet",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "ENFORCE_NON_BLANK_FIELDS": True,
    "COMPONENT_SPLIT_REQUEST": True,
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "stream": sys.stderr, "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": "WARNING" if TESTING else "INFO"},
    "loggers": {"axes": {"level": "ERROR"}, "fontTools": {"level": "WARNING"}, "weasyprint": {"level": "WARNING"}},
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
SILENCED_SYSTEM_CHECKS = ["auth.W004"]
