"""A page printed to PDF: every word is there and inside the margins, and nothing that only a screen can use."""

import unicodedata
from collections.abc import Iterator

import pypdfium2
from playwright.sync_api import Page

from tests.browser.scripts import ask

#: Printers leave about 5 mm of a sheet white (common practice). A point is 1/72 inch.
LEAST_MARGIN_PT = 14.0
A4_PX = {"width": 794, "height": 1123}


def faults(page: Page, sheet: str = "A4") -> list[str]:
    """What is lost, cut, or useless on paper."""
    page.set_viewport_size(A4_PX)
    page.emulate_media(media="print")
    seen = ask(page, "printed")
    made = page.pdf(format=sheet, prefer_css_page_size=True)
    page.emulate_media(media="null")
    assert seen["words"]
    found = [f"of no use on paper: {one}" for one in seen["controls"]]
    with pypdfium2.PdfDocument(made) as printed:
        said = "".join(squeezed(one.get_textpage().get_text_bounded()) for one in printed)
        found += [f"not on paper: {words.strip()[:60]}" for words in seen["words"] if squeezed(words) not in said]
        found += [one for number, sheet_of in enumerate(printed, 1) for one in beside(sheet_of, number)]
    return found


def beside(sheet: pypdfium2.PdfPage, number: int) -> Iterator[str]:
    """The words of one sheet that stand where a printer cannot print."""
    wide, high = sheet.get_size()
    text = sheet.get_textpage()
    for place in range(text.count_rects()):
        left, bottom, right, top = text.get_rect(place)
        inside = left >= LEAST_MARGIN_PT and right <= wide - LEAST_MARGIN_PT
        if not (inside and bottom >= LEAST_MARGIN_PT and top <= high - LEAST_MARGIN_PT):
            yield f"in the margin of sheet {number}: {text.get_text_bounded(left, bottom, right, top).strip()[:60]}"


def squeezed(text: str) -> str:
    """Without the spaces and line ends that a printer sets as it likes; a hyphen at a line's end is one, too."""
    return "".join(unicodedata.normalize("NFKC", text.replace("\ufffe", "-").replace("\x02", "-")).split())
