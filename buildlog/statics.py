"""Which static files are collected, and how they are named and stored."""

from django.contrib.staticfiles.apps import StaticFilesConfig
from whitenoise.storage import CompressedManifestStaticFilesStorage


class CollectedStatics(StaticFilesConfig):
    """Leaves out what no page asks for; the extensions also point at files that are not shipped."""

    ignore_patterns = [*StaticFilesConfig.ignore_patterns, "django_htmx/ext/*", "django_htmx/*-4*"]


class HashedStatics(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # whitenoise carries no types
    """Names with a content hash, compressed once, also for modules that import each other."""

    support_js_module_import_aggregation = True
