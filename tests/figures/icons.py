"""Draws the icon's PNG sizes from its SVG, in Chromium: `.venv/bin/python -m tests.figures.icons`."""

from pathlib import Path

from playwright.sync_api import sync_playwright

from tests import chromium

DRAWINGS = Path(__file__).parents[2] / "static" / "cooperative"
SIZES = {"icon-192.png": (192, 0), "icon-512.png": (512, 0), "icon-maskable-512.png": (512, 51)}  # a mask cuts 10 % off


def main() -> None:
    """Write every size beside the SVG."""
    svg = (DRAWINGS / "icon.svg").read_text()
    with sync_playwright() as player:
        browser = chromium.launch(player)
        for name, (side, margin) in SIZES.items():
            page = browser.new_page(viewport={"width": side, "height": side})
            page.set_content(
                f"<style>body{{margin:0;padding:{margin}px;background:#f7f5ee}}svg{{display:block}}</style>{svg}"
            )
            page.screenshot(path=DRAWINGS / name)
        browser.close()


if __name__ == "__main__":
    main()
