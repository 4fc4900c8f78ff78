"""Runs the scripts of `measures/` on a page: each answers one question about it as it stands."""

from pathlib import Path
from typing import Any

from playwright.sync_api import Page

SCRIPTS = {path.stem: path.read_text() for path in (Path(__file__).parent / "measures").glob("*.js")}


def ask(page: Page, name: str, asked: object = None) -> Any:
    """One script's answer."""
    page.evaluate(SCRIPTS["shown"])
    return page.evaluate(SCRIPTS[name], asked)
