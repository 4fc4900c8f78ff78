"""Collects the hashed files that pages link to, as on a host, where those collected before are older."""

import fcntl
from pathlib import Path
from typing import cast

from django.conf import settings
from django.core.files.storage import storages
from django.core.management import call_command

from cooperative.assets import HashedAssets


def collect_static() -> None:
    """Processes that test or measure side by side share what is collected: one makes it, the others wait."""
    root = Path(settings.STATIC_ROOT)
    root.mkdir(parents=True, exist_ok=True)
    with (root.parent / "static.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        made = root / "staticfiles.json"
        sources = [path for path in (settings.BASE_DIR / "static").rglob("*") if path.is_file()]
        if not made.exists() or any(path.stat().st_mtime > made.stat().st_mtime for path in sources):
            call_command("collectstatic", interactive=False, clear=True, verbosity=0)
    # Whoever waited may have looked before anything was there.
    cast(HashedAssets, storages["staticfiles"]).read_names()
