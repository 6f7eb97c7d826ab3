"""The one app of the project."""

from django.apps import AppConfig
from django.db.backends.signals import connection_created


class BuildlogConfig(AppConfig):
    name = "buildlog"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from buildlog import away, checks, words

        words.speak()  # fields take their words as forms are defined, which is later than this
        connection_created.connect(checks.refuse_unsafe_connection, dispatch_uid="database-mode")
        connection_created.connect(away.remember_file, dispatch_uid="database-file")
