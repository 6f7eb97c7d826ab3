"""The app's own settings; the address table is cut down to what tablets send to, unless pages are wanted as well."""

import os

from buildlog.settings import *  # noqa: F403
from buildlog.settings import ALLOWED_HOSTS, STORAGES

ROOT_URLCONF = os.environ.get("FLOOR_ADDRESSES", "tests.floor.server_urls")
ALLOWED_HOSTS = [*ALLOWED_HOSTS, "barn.test"]
# No need to collect static files first.
STORAGES = STORAGES | {"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
WHITENOISE_USE_FINDERS = True
