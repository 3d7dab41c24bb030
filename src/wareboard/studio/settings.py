"""Django's settings for the studio."""

SECRET_KEY = "set in the workshop folder"
INSTALLED_APPS: list[str] = []
DATABASES: dict[str, dict[str, str]] = {}
USE_TZ = True
