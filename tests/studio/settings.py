"""Settings for tests: the studio's own, on a database that lives in memory."""

from wareboard.studio.settings import *  # noqa: F403
