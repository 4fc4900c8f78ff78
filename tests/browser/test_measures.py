"""The measures notice what they are for: each fault is laid on a page that has none, and is found."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests import chromium
from tests.browser import measuring, paper
from tests.browser.measuring import Bars

pytestmark = pytest.mark.browser

SOUND = """<!doctype html><html lang="en"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Sound</title><style>@page { margin: 12mm } body { margin: 0 } a, button { display: block; min-height: 60px; }
:focus-visible { outline: 3px solid #000 } @media print { button { display: none } } button { border: 2px solid #000 }
.cut { height: 30px; overflow: hidden } .bar { position: fixed; bottom: 0; left: 0; right: 0; height: 90px; z-index: 9 }
</style><main><h1>A heap</h1><p>It lies there.</p>
<a href="#one">The first way</a><button>Keep it here</button>%s</main>"""
FAULTS = [
    ("fits", "moves sideways", "<div style='width: 700px'>wide</div>"),
    ("fits", "beside the page", "<p style='white-space: nowrap'>" + "far too many words for one line " * 4),
    ("fits", "beside its box", "<p style='width: 90px; background: #eee; white-space: nowrap'>too many for a box"),
    ("fits", "below its box", "<p style='height: 20px; border: 1px solid; width: 90px'>too many words for so low"),
    ("fits", "over other words", "<p>first words</p><p style='margin-top: -34px'>other words"),
    ("fits", "cut at its foot", "<p class='cut'>words<br>of which<br>some are not seen"),
    ("fits", "cut at its side", "<p style='overflow: hidden; white-space: nowrap; width: 60px'>some are not seen"),
    ("fits", "too small", "<a href='#two' style='min-height: 47px'>another way</a>"),
    ("fits", "one target over another", "<a href='#two' style='margin-top: -20px'>another way</a>"),
    ("contrast", "words", "<p style='color: #666'>pale</p>"),
    ("contrast", "words", "<p style='opacity: 0.4'>faded</p>"),
    ("contrast", "edge", "<button style='border-color: #bbb; background: #fff'>No edge</button>"),
    ("contrast", "drawn words", "<svg width='90' height='30'><rect width='90' height='30'/><text y='20'>dim"),
    ("contrast", "hint", "<input placeholder='pale' style='height: 60px'>"),
    ("keyboard", "nothing shows", "<button style='outline: none'>Hidden ring</button>"),
    ("keyboard", "covered", "<div class='bar'></div><p style='height: 3000px'></p><button>Beneath</button>"),
    ("keyboard", "jumps the queue", "<button tabindex='1'>Me first</button>"),
    ("keyboard", "goes back up", "<div style='display: flex; flex-direction: column-reverse'>"
     "<button>One</button><button>Two</button></div>"),
    ("paper", "of no use on paper", "<select><option>one</select>"),
    ("paper", "in the margin", "<style>@page { margin: 2mm }</style>"),
    ("paper", "not on paper", "<p style='transform: translateX(-2000px)'>gone</p>"),
    ("axe", "image-alt", "<img src='data:,' width='60' height='60'>"),
]  # fmt: skip


@pytest.fixture(scope="module")
def sheet(browser: Browser) -> Iterator[Page]:
    """A page of our own making."""
    phone = chromium.new_phone(browser)
    yield phone.new_page()
    phone.close()


def measured(page: Page, name: str) -> list[str]:
    """What one of the measures finds."""
    bars = Bars(least_px=48, least_contrast=7, sentences=True)
    measuring.at_phone(page)
    return {
        "fits": lambda: measuring.fits(page, 320, bars),
        "contrast": lambda: measuring.contrast(page, bars),
        "keyboard": lambda: measuring.keyboard(page),
        "paper": lambda: paper.faults(page),
        "axe": lambda: measuring.axe_at(page, 320),
    }[name]()


@pytest.mark.parametrize("name", ["fits", "contrast", "keyboard", "paper", "axe"])
def test_a_sound_page_has_no_fault(sheet: Page, name: str) -> None:
    sheet.set_content(SOUND % "")
    assert measured(sheet, name) == []


@pytest.mark.parametrize(("name", "said", "fault"), FAULTS, ids=lambda one: one[:20])
def test_a_fault_is_noticed(sheet: Page, name: str, said: str, fault: str) -> None:
    sheet.set_content(SOUND % fault)
    assert [one for one in measured(sheet, name) if said in one]


def test_large_and_spaced_words_are_tried(sheet: Page) -> None:
    sheet.set_content(SOUND % "<p style='font-size: 1rem; white-space: nowrap'>fits at the usual size, but no more</p>")
    bars = Bars(least_px=48, least_contrast=7, sentences=True)
    assert measuring.fits(sheet, 320, bars) == []
    assert measuring.large_words(sheet, bars) != []
    assert measuring.spaced_words(sheet, bars) != []


def test_a_link_in_a_sentence_is_excepted_only_off_the_recording_path(sheet: Page) -> None:
    sheet.set_content(SOUND % "<p>Words around <a href='#two' style='display: inline'>a link</a> in a sentence.</p>")
    excepted, strict = (Bars(least_px=48, least_contrast=7, sentences=one) for one in (True, False))
    assert measuring.fits(sheet, 320, excepted) == []
    assert measuring.fits(sheet, 320, strict) != []
