"""The words of the pages' scripts: all that a script says is there in any language, and no sentence stands in one."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from django.conf import settings

from cooperative import joining
from heaps import phone_words
from heaps.ledger import choices
from heaps.ledger.kinds import KINDS, Harvest, Verdict
from heaps.ledger.stages import Stage
from heaps.science.effect import Does
from heaps.science.fit import Fits
from heaps.science.readiness import LOOKS, SMELLS
from heaps.value_words import VALUE_WORDS

STATIC = Path(settings.BASE_DIR) / "static"
#: What a script asks for by a name that it puts together.
PUT_TOGETHER = {
    "heaps/drop-off.js": [f"accepted {one}" for one in ("yes", "with care", "treat first", "never")]
    + ["ahead?", "old?", "bags"] + [f"now {does}" for does in Does if does] + [f"turn {one}" for one in Fits],
    "heaps/more.js": ["cover on", "cover off", "soak in", "soak out", "bags in store"],
}  # fmt: skip
PAGES: dict[str, Callable[[], phone_words.Words]] = {
    "heaps/drop-off.js": phone_words.recording,
    "heaps/more.js": phone_words.more,
    "heaps/kept.js": phone_words.kept,
    "heaps/waiting-here.js": phone_words.every_page,
    "heaps/did-it.js": phone_words.at_heap,
    "heaps/hand-over.js": phone_words.every_page,
    "heaps/forget-phone.js": phone_words.every_page,
}
#: Modules that come along with those of every page and say nothing there.
SILENT_THERE = {"element.js", "entry.js"}
LITERAL = r'"([^"]+)"'


def said_by(text: str) -> set[str]:
    """The keys of every `say(...)`, also where one of two is chosen."""
    found: set[str] = set()
    for call in re.finditer(r"(?<!\w)say\(", text):
        key = first_argument(text[call.end() :])
        found |= set(re.findall(LITERAL, key.partition("?")[2] if re.search(r'[^"]\? ', key) else key))
    return found


def first_argument(text: str) -> str:
    """Up to the comma or bracket that ends it."""
    depth = 0
    for place, sign in enumerate(text):
        if not depth and sign in ",)":
            return text[:place]
        depth += (sign in "([{") - (sign in ")]}")
    raise AssertionError(text)


@pytest.mark.parametrize("entry", PAGES)
def test_all_that_a_page_says_has_its_words(entry: str) -> None:
    modules = joining.parts(STATIC, entry)
    if PAGES[entry] in (phone_words.every_page, phone_words.at_heap):
        modules = {file: text for file, text in modules.items() if file not in SILENT_THERE}
    asked = {key for text in modules.values() for key in said_by(text)} | set(PUT_TOGETHER.get(entry, []))
    words = PAGES[entry]()
    assert len(asked) > 3
    missing = asked - words.keys()
    assert not missing, f"give {sorted(missing)} words in heaps/phone_words.py"


def test_no_words_are_carried_that_nothing_says() -> None:
    asked = {key for entry in PAGES for text in joining.parts(STATIC, entry).values() for key in said_by(text)}
    asked |= {key for keys in PUT_TOGETHER.values() for key in keys} | {"forms"}
    values = tuple(f"{field} " for field in (*VALUE_WORDS, "kind"))
    carried = {key for words in PAGES.values() for key in words() if not key.startswith(values)}
    assert carried - asked == set()


def test_no_sentence_stands_in_a_script() -> None:
    sentence = re.compile(r"[\"'`>](?:[✓✕!…↻] ?)?(?:\$\{[^}]+\} )?[A-Z][a-z’']+[ .:][^\"'`]*[\"'`]")
    found = {
        f"{path.name}: {match[0]}"
        for path in STATIC.rglob("*.js")
        for match in sentence.finditer(re.sub(r"/\*.*?\*/|//.*", "", path.read_text(), flags=re.S))
    }
    assert {one for one in found if "Content-" not in one and "Retry-" not in one} == set()


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("place", choices.PLACES),
        ("squeeze", choices.SQUEEZES),
        ("sign", choices.SIGNS),
        ("why", choices.WHY_REFUSED),
        ("weed", choices.TUB_WEEDS),
        ("sort", choices.GATHERINGS),
        ("looks", tuple(LOOKS)),
        ("smells", tuple(SMELLS)),
        ("what", choices.INCIDENTS),
        ("stage", tuple(Stage)),
        ("test", Verdict.__dataclass_fields__["test"].metadata["choices"]),
        ("sieved", Harvest.__dataclass_fields__["sieved"].metadata["choices"]),
    ],
)  # fmt: skip
def test_every_value_of_the_ledger_has_a_word(field: str, values: tuple[str, ...]) -> None:
    assert set(VALUE_WORDS[field]) == set(values)


def test_every_kind_can_be_told_on_the_recording_page() -> None:
    told = set(re.findall(r"^  (\w+): \(", (STATIC / "heaps/entry.js").read_text(), re.M))
    named = {key.removeprefix("kind ") for key in phone_words.recording() if key.startswith("kind ")}
    missing = KINDS.keys() - {"opening", "correction"} - told - named
    assert not missing, f"name {sorted(missing)}: a 'kind ...' in heaps/phone_words.py, or SAID in entry.js"


def test_a_language_with_three_forms_gets_the_right_one() -> None:
    """As in Polish: 1; 2 to 4 at the end, but not 12 to 14; all others."""

    def bags(number: int) -> str:
        few = number % 10 in (2, 3, 4) and number % 100 not in (12, 13, 14)
        return "worek" if number == 1 else "worki" if few else "worków"

    words = phone_words._with_forms({}, {"bags": bags, "same": lambda number: "x"})
    forms, digits = words["bags"], words["forms"]
    assert words["same"] == ["x", "x", "x"]
    for number in (0, 1, 2, 4, 5, 12, 22, 25, 101, 102, 112, 122, 1001, 1002, 1012):
        at = number if number < 100 else 100 + number % 100
        assert forms[int(digits[at])] == bags(number), number
