"""Django's settings for the studio. Nothing is written or opened here; `serve` makes folder, key and records."""

from __future__ import annotations

import os
import secrets
from pathlib import Path
from typing import Any

from wareboard.studio.settings_table import SECRET, machine_time_zone, postgresql, read_settings, sqlite

WAREBOARD = read_settings(os.environ)
HERE = Path(__file__).parent


def _secret(folder: Path) -> str:
    place = folder / SECRET
    # Without a kept key (types, tests, a look at --help) one that lasts as long as the process does.
    return place.read_text(encoding="ascii").strip() if place.is_file() else secrets.token_urlsafe(50)


PASSWORD_HASHERS = ["wareboard.book.people.hashing.WorkshopArgon2"]
SECRET_KEY = _secret(WAREBOARD.folder)
DEBUG = False
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]"]
ROOT_URLCONF = "wareboard.studio.urls"
WSGI_APPLICATION = "wareboard.studio.wsgi.application"
INSTALLED_APPS = [
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "wareboard.book",
    "wareboard.book.glazes",
    "wareboard.book.firings",
    "wareboard.book.boards",
    "wareboard.book.people",
    "wareboard.book.pieces",
    "wareboard.book.printing",
    "wareboard.book.learning",
    "wareboard.book.measures",
    "wareboard.book.prototypes",
    "wareboard.studio",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "wareboard.studio.middleware.strict_pages",
    "wareboard.studio.phones.door.at_the_door",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]
TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "wareboard.studio.context.look",
            ],
        },
    }
]
MESSAGE_STORAGE = "django.contrib.messages.storage.cookie.CookieStorage"
DATABASES = {
    "default": postgresql(WAREBOARD.database_url) if WAREBOARD.database_url else sqlite(WAREBOARD.folder),
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = WAREBOARD.time_zone or machine_time_zone(os.environ)
STATIC_URL = "/static/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = False
WHITENOISE_MAX_AGE = 3600
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Strict"
CSRF_FAILURE_VIEW = "wareboard.studio.failures.csrf_failure"
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CONTENT_TYPE_NOSNIFF = True
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 4_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000
FORM_RENDERER = "django.forms.renderers.DjangoTemplates"
