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
    #: A module's hash changes with those it imports: as many passes as modules may stand in one line.
    max_post_process_passes = 12

    def post_process(self, paths: dict[str, Any], dry_run: bool = False, **options: Any) -> Iterator[Any]:
        """Write each recording page's joined file beside its modules, then hash and pack them all."""
        for page, entry in joining.PAGES.items():
            if dry_run or entry not in paths:
                continue
            text = joining.joined(Path(settings.BASE_DIR) / "static", entry)
            Path(self.path(page)).write_text(text, encoding="utf-8")
            paths = {**paths, page: (self, page)}
        yield from super().post_process(paths, dry_run, **options)
