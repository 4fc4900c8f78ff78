"""Hashed names for static files, import paths inside our ES modules included."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedAssets(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    """Every file gets its content's hash in its name, so a phone may keep it for ever."""

    support_js_module_import_aggregation = True
