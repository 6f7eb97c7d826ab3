"""The app's own settings; the address table is cut down to what tablets send to, so that a restart is quick."""

from buildlog.settings import *  # noqa: F403

ROOT_URLCONF = "tests.floor.server_urls"
