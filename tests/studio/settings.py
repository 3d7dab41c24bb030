"""Settings for tests: the studio's own, on a records file of this process and plain static files."""

import os
import tempfile
from pathlib import Path

from wareboard.studio.settings import *  # noqa: F403
from wareboard.studio.settings import DATABASES

# A file, as in a workshop: the browser's pages and the test each have a connection of their own to it.
DATABASES["default"]["TEST"] = {"NAME": str(Path(tempfile.gettempdir()) / f"wareboard-test-{os.getpid()}.sqlite3")}
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
