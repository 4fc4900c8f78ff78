"""`manage.py host_files`: write what a small Debian host needs beside the code."""

import secrets
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from cooperative.host import FOLDER, NAME, PROXIES, host_files

#: What others on the host must not read, and what is run; anything else is for all to read.
MODES = {"heaps.env": 0o600, "heaps-manage": 0o755}


class Command(BaseCommand):
    help = "Write the units, timers, settings and proxy configuration of a host. cooperative/host/README.md leads on."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--name", required=True, help="the host's public name, like heaps.example.org")
        parser.add_argument("--folder", default="/srv/heaps", help="where code, records and settings are to lie")
        parser.add_argument("--proxy", choices=sorted(PROXIES), default="nginx", help="what stands before the server")
        parser.add_argument("--out", required=True, type=Path, help="where to write the files")

    def handle(self, *args: Any, **options: Any) -> None:
        name, folder, out = options["name"], options["folder"].rstrip("/"), options["out"]
        if not NAME.fullmatch(name):
            raise CommandError("Give the host's name in small letters, without https://, like heaps.example.org.")
        if not FOLDER.fullmatch(folder):
            raise CommandError("Give the folder from / on, in plain letters and without spaces, like /srv/heaps.")
        out.mkdir(parents=True, exist_ok=True)
        for file, text in host_files(name, folder, options["proxy"], secrets.token_urlsafe(50)).items():
            self.stdout.write(_write(out / file, text))


def _write(file: Path, text: str) -> str:
    """Write a file, and say so. Settings that are there already stay: another key would sign everybody out."""
    if file.name == "heaps.env" and file.exists():
        return f"{file} was there already and stays as it is"
    file.touch(MODES.get(file.name, 0o644))
    file.chmod(MODES.get(file.name, 0o644))
    file.write_text(text, encoding="utf-8")
    return str(file)
