"""The project's settings with the slow parts swapped."""

import os

from shared.settings import *  # noqa: F403
from shared.settings import DATABASES, VAR_DIR

AXES_ENABLED = False  # else client.login raises; the lock-out tests switch it on
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_AUTOREFRESH = True
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # in a file, so that live servers and threads meet real locks
    DATABASES["default"]["TEST"] = {"NAME": os.environ.get("TEST_DB", VAR_DIR / "test.sqlite3")}
