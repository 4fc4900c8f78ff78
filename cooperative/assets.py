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

    def read_names(self) -> None:
        """Know the hashed names that were written last, by whatever process."""
        self.hashed_files, self.manifest_hash = self.load_manifest()

    def post_process(self, paths: dict[str, Any], dry_run: bool = False, **options: Any) -> Iterator[Any]:
        """Write the recording pages' joined files beside their parts, then hash and pack them all."""
        source = Path(settings.BASE_DIR) / "static"
        for page, entry in joining.PAGES.items():
            if not dry_run and entry in paths:
                paths = self._with(paths, page, joining.joined(source, entry))
        if not dry_run and set(joining.SHEETS) <= paths.keys():
            paths = self._with(paths, joining.SHEET, joining.joined_sheets(source))
        yield from super().post_process(paths, dry_run, **options)

    def _with(self, paths: dict[str, Any], name: str, text: str) -> dict[str, Any]:
        Path(self.path(name)).write_text(text, encoding="utf-8")
        return {**paths, name: (self, name)}
