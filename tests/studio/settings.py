"""Settings for tests: the studio's own, on a database that lives in memory and plain static files."""

from wareboard.studio.settings import *  # noqa: F403
from wareboard.studio.settings import DATABASES

DATABASES["default"] = {"ENGINE": "django.db.backends.sqlite3", "NAME": ":memory:"}
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
