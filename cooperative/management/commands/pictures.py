"""`manage.py pictures`: the README's pictures, from the demo at one fixed moment."""

import tempfile
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from playwright.sync_api import Page, sync_playwright

from cooperative.demo import PASSWORD
from tests import chromium
from tests.serving import SEASON, Server, free_port, make_database

FOLDER: Path = settings.BASE_DIR / "tests" / "figures"
MOMENT = datetime.fromisoformat("2026-10-17T14:30:00+00:00")
WHO = "yarrow"


class Command(BaseCommand):
    help = "Take the README's pictures: the recording page and the board, as a phone shows them."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("collectstatic", interactive=False, clear=True, verbosity=0)
        with tempfile.TemporaryDirectory(prefix="heaps-pictures-") as folder:
            database = make_database(Path(folder) / "heaps.sqlite3", SEASON.format(moment=MOMENT.isoformat()))
            server = Server(database, free_port(), {"HEAPS_NOW": MOMENT.isoformat()})
            server.start()
            try:
                take(server.url)
            finally:
                server.kill()
        self.stdout.write(f"recording.png and board.png are in {FOLDER.relative_to(settings.BASE_DIR)}")


def take(url: str) -> None:
    """Sign in on a phone whose clock stands still, and take both."""
    with sync_playwright() as player:
        browser = chromium.launch(player)
        phone = chromium.new_phone(browser, device_scale_factor=2, service_workers="block")
        phone.clock.set_fixed_time(MOMENT)
        page = phone.new_page()
        page.goto(f"{url}/sign-in/?next=/drop-off/")
        page.fill("[name=username]", WHO)
        page.fill("[name=password]", PASSWORD)
        page.locator("main form button[type=submit]").tap()
        recording(page)
        page.goto(f"{url}/heaps/")
        page.screenshot(path=FOLDER / "board.png")
        browser.close()


def recording(page: Page) -> None:
    """Three sacks of cardboard, about to be kept."""
    page.locator("#materials label", has_text="Cardboard").tap()
    page.locator("#containers label", has_text="sack").tap()
    for _ in range(2):
        page.locator("[data-panel=dropoff] [data-by='1']").tap()
    page.locator("#state", has_text="Nothing waits on this phone").wait_for()
    page.evaluate("scrollTo(0, 0)")
    page.screenshot(path=FOLDER / "recording.png")
