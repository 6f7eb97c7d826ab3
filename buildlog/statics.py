"""How collected static files are named and stored."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStatics(CompressedManifestStaticFilesStorage):
    """Names with a content hash, compressed once, also for modules that import each other."""

    support_js_module_import_aggregation = True
