"""`manage.py pictures`: the README's pictures, from the demo's season in a real Chromium of a phone's size."""

import tempfile
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.utils import timezone
from playwright.sync_api import BrowserContext, sync_playwright

from cooperative.demo import PASSWORD
from tests import chromium
from tests.serving import SEASON, Server, free_port, make_database

FOLDER: Path = settings.BASE_DIR / "tests" / "figures"
WHO = "yarrow"


class Command(BaseCommand):
    help = "Make the README's pictures anew: the recording page and the board."

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("collectstatic", interactive=False, clear=True, verbosity=0)
        with tempfile.TemporaryDirectory(prefix="heaps-pictures-") as folder, sync_playwright() as player:
            season = SEASON.format(moment=timezone.now().isoformat())
            server = Server(make_database(Path(folder) / "season.sqlite3", season), free_port())
            server.start()
            try:
                browser = chromium.launch(player)
                self.take(chromium.new_phone(browser, device_scale_factor=2), server)
                browser.close()
            finally:
                server.kill()

    def take(self, phone: BrowserContext, server: Server) -> None:
        """Both pictures: a load about to be kept, and the first bays of the board."""
        page = phone.new_page()
        page.goto(f"{server.url}/drop-off/")
        page.locator("#materials label", has_text="peelings").tap()
        page.screenshot(path=FOLDER / "recording.png")
        page.goto(f"{server.url}/sign-in/?next=/heaps/")
        page.fill("[name=username]", WHO)
        page.fill("[name=password]", PASSWORD)
        page.locator("main form button[type=submit]").click()
        page.locator("[data-bay]").first.wait_for()
        page.screenshot(path=FOLDER / "board.png")
        self.stdout.write(f"recording.png and board.png stand in {FOLDER.relative_to(settings.BASE_DIR)}/")
