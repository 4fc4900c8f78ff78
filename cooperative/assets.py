"""Hashed names for static files, import paths inside our ES modules included."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from whitenoise.storage import CompressedManifestStaticFilesStorage

from cooperative import joining


class HashedAssets(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # WhiteNoise has no types
    """Every file gets its content's hash in its name, so a phone may keep it for ever."""

    support_js_module_import_aggregation = True

    def post_process(self, paths: dict[str, Any], dry_run: bool = False, **options: Any) -> Iterator[Any]:
        """Write the recording page's joined file beside its modules, then hash and pack them all."""
        if not dry_run and joining.ENTRY in paths:
            text = joining.joined(Path(settings.BASE_DIR) / "static")
            Path(self.path(joining.JOINED)).write_text(text, encoding="utf-8")
            paths = {**paths, joining.JOINED: (self, joining.JOINED)}
        yield from super().post_process(paths, dry_run, **options)
