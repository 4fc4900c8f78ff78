"""The files that a small Debian host needs: units, timers, settings and the proxy's configuration."""

import re
from pathlib import Path

FILES = Path(__file__).parent / "files"
#: Each proxy of Debian's, with the user it runs as and its file here.
PROXIES = {"nginx": ("www-data", "nginx.conf"), "caddy": ("caddy", "Caddyfile")}
UNITS = (
    "heaps.socket", "heaps.service", "heaps-names.service", "heaps-names.timer", "heaps-backup.service",
    "heaps-backup.timer", "heaps-forecast.service", "heaps-forecast.timer",
)  # fmt: skip
#: What is started and stopped; the other units are the work that the timers begin.
STARTED = tuple(unit for unit in UNITS if unit == "heaps.service" or not unit.endswith(".service"))
#: What the proxy says while the server rests; without quotes, because it stands between some.
RESTING = (
    "<!doctype html><html lang=en><meta charset=utf-8><meta name=viewport content=width=device-width>"
    "<title>Back soon</title><h1>Back soon</h1><p>The heaps are being looked after. Come back in a few minutes."
    "<p>What you record stays on your phone until then."
)
#: More than what a name or a folder may hold could mean something else in a file that is written with it.
NAME = re.compile(r"(?=.{4,253}\Z)([a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?\.)+[a-z]([a-z0-9-]{0,61}[a-z0-9])?")
FOLDER = re.compile(r"(/[A-Za-z0-9_][A-Za-z0-9._-]*)+")


def host_files(name: str, folder: str, proxy: str, secret_key: str) -> dict[str, str]:
    """Each file by its name, filled in for a host called `name` that keeps everything in `folder`."""
    user, configuration = PROXIES[proxy]
    values = {"name": name, "folder": folder, "proxy_user": user, "secret_key": secret_key, "resting": RESTING}
    values["hardening"] = _filled("hardening", values).rstrip()
    return {file: _filled(file, values) for file in ("heaps.env", "heaps-manage", *UNITS, configuration)}


def _filled(file: str, values: dict[str, str]) -> str:
    return re.sub(r"\[\[(\w+)\]\]", lambda place: values[place[1]], (FILES / file).read_text(encoding="utf-8"))
