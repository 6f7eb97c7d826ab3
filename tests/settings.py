"""The settings for tests: the app's own, with a data folder that is thrown away."""

import atexit
import os
import shutil
import tempfile

_folder = tempfile.mkdtemp(prefix="buildlog-test-")
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ["BUILDLOG_DATA"] = _folder  # set before the app's settings read it; nobody's data is touched

from buildlog.settings import *  # noqa: E402, F403
from buildlog.settings import ALLOWED_HOSTS, DATA_DIR, DATABASES, STATIC_ROOT, STORAGES  # noqa: E402

# Browser tests use a name that is not this machine's own: 127.0.0.1 counts as a secure context and would
# hide what plain http on a LAN cannot do.
ALLOWED_HOSTS = [*ALLOWED_HOSTS, "barn.test"]

# A file, not memory: the mode that keeps ticks is tested too, and a server thread sees the same rows.
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["TEST"] = {"NAME": DATA_DIR / "test.sqlite3"}
else:
    DATABASES["default"]["TEST"] = {"NAME": f"test_buildlog_{os.getpid()}"}

# No need to collect static files first.
STORAGES = STORAGES | {"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
STATIC_ROOT.mkdir(exist_ok=True)
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True

# The real one is slow on purpose.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
