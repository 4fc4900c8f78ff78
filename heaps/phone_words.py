"""What the pages' scripts say, in the reader's language. They know keys; `static/heaps/words.js` fills the gaps in."""

from collections.abc import Callable, Mapping
from functools import lru_cache

from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from heaps.entry_words import of_entries, of_further_entries, of_further_kinds
from heaps.value_words import VALUE_WORDS

#: By key a sentence, or its forms for different numbers; "forms" says which of these a number takes.
Words = dict[str, str | list[str]]
#: No rule for plurals looks further than a number's last two digits, once it has three ("Plural forms" of gettext).
NUMBERS = range(200)


def every_page() -> Words:
    """What is said on any page about entries that wait here."""
    return _in(get_language(), "every page")


def recording() -> Words:
    """What the recording page says."""
    return _in(get_language(), "recording")


def more() -> Words:
    """What the page for something else says."""
    return _in(get_language(), "more")


def at_heap() -> Words:
    """What is said where one tap keeps what was done at a heap."""
    return _in(get_language(), "at a heap")


def kept() -> Words:
    """What the page of what a phone keeps says."""
    return _in(get_language(), "kept")


#: The pages that a phone keeps to record without a network.
RECORDING = (recording, more, kept)


@lru_cache(maxsize=100)
def _in(language: str | None, page: str) -> Words:
    """The same for everybody who reads this language."""
    if page == "every page":
        return _with_forms(_of_sending() | _of_waiting(), _counts_of_waiting())
    if page == "at a heap":
        return _with_forms(_of_sending() | _of_waiting() | _of_tap(), _counts_of_waiting())
    said = _of_sending() | _of_form() | _of_problems() | _of_questions() | _of_list() | of_entries()
    said |= _of_values("place", "squeeze", "sign", "test", "sieved")
    if page == "recording":
        return _with_forms(said | _of_effects() | of_further_kinds(), _counts())
    said |= of_further_entries() | _of_values("why", "weed", "sort", "what")
    if page == "kept":
        said |= _of_carrying_off()
    return _with_forms(said, _counts() | _further_counts())


def _with_forms(said: Mapping[str, str], counts: Mapping[str, Callable[[int], str]]) -> Words:
    """Numbers for which every sentence has the same form share one; "forms" holds a digit for each of NUMBERS."""
    spoken = [tuple(say(number) for say in counts.values()) for number in NUMBERS]
    different = list(dict.fromkeys(spoken))
    forms = dict(zip(counts, (list(every) for every in zip(*different, strict=True)), strict=True))
    return {**said, **forms, "forms": "".join(str(different.index(one)) for one in spoken)}


def _of_sending() -> dict[str, str]:
    return {
        "late": _("No answer in time."),
        "offline": _("No connection."),
        "portal": _("Another page answered. Does this network want a sign-in?"),
        "busy": _("The server is busy. They go later."),
        "not taken": _("The server did not take them. Tell a coordinator."),
        "no reason": _("No reason was given."),
    }


def _of_waiting() -> dict[str, str]:
    return {
        "age": _("This page is as of {when}, as this phone last saw it."),
        "forgotten": _("✓ Forgotten. This phone remembers nothing that you did."),
    }


def _counts_of_waiting() -> dict[str, Callable[[int], str]]:
    return {
        "here": lambda n: ngettext("… {n} entry waiting on this phone", "… {n} entries waiting on this phone", n),
        "all here": lambda n: ngettext("{n} entry waiting on this phone.", "{n} entries waiting on this phone.", n),
        "unsent": lambda n: ngettext("{n} entry waits on this phone.", "{n} entries wait on this phone.", n),
        "throw": lambda n: ngettext("Really throw {n} entry away?", "Really throw {n} entries away?", n),
        "handed in": lambda n: ngettext(
            "✓ Handed in: {n} entry. A coordinator will look at it.",
            "✓ Handed in: {n} entries. A coordinator will look at them.",
            n,
        ),
        "not handed in": lambda n: ngettext(
            "! Not handed in: {n} entry. {why} Kept on this phone.",
            "! Not handed in: {n} entries. {why} Kept on this phone.",
            n,
        ),
    }


def _of_form() -> dict[str, str]:
    """The form as it stands, and what is said once an entry is kept."""
    return {
        "closed bay": _("{bay} (closed)"),
        "choose": _("Choose what you brought"),
        "not in": _("This does not go in"),
        "keep into": _("Keep {load} into {bay}"),
        "keep load": _("Keep {load}"),
        "keep at": _("Keep: {what}, {bay}"),
        "keep": _("Keep: {what}"),
        "load": _("{count} × {container} of {material}"),
        "some load": _("{container} of {material}"),
        "a load": _("load"),
        "other size": _("Other size"),
        "no bay": _("No bay"),
        "closed": _("closed"),
        "fed": _("being fed"),
        "none found": _("Nothing by that name. Try a plainer word, or ask at the heap."),
        "accepted yes": _("✓ Yes."),
        "accepted with care": _("! Yes, with care."),
        "accepted treat first": _("↻ Treat it first."),
        "accepted never": _("✕ This never goes in."),
        "heavy": _("One of these is about {kg} kg. Part-fill it, or lift it with two."),
        "very heavy": _("One of these is about {kg} kg. Part-fill it, and lift it with two."),
        "kept": _("✓ Kept on this phone:"),
        "on top": _("+ {load} on top"),
        "keep both": _("{keep}, and {load} on top"),
        "undo": _("Undo"),
        "copy": _("Copy it"),
        "copied": _("✓ Copied"),
        "undone now": _("✕ Undone."),
        "what now": _("What to do about it"),
        "sieve": _("Sieve leftovers: into a heap"),
    }


def _of_tap() -> dict[str, str]:
    """What a tap at a heap keeps: the same words as on the recording page."""
    said = _of_form() | _of_problems() | {"again then": _("Open this page again to see what follows.")}
    return {key: said[key] for key in ("kept", "undo", "undone now", "full", "failed", "again then")}


def _of_effects() -> dict[str, str]:
    """What a load does to a heap (heaps/science/effect.py), where it matters."""
    return {
        "now full": _("With this, {bay} is about full."),
        "now rich": _("Too green with this: add {what}."),
        "now wet": _("Too wet with this: add {what}."),
        "now cover": _("Too wet with this: keep the rain off."),
        "now dry": _("Too dry with this: add {what}."),
        "now brown": _("Too brown with this: add {what}."),
        "now helps": _("Good: just what {bay} needs."),
        "turn yes": _("✓ It fits into {bay}."),
        "turn only heaped": _("! It fits into {bay}, heaped over the edge."),
        "turn perhaps": _("! It may not all fit into {bay}. Keep room beside it."),
        "turn no": _("✕ Not all of it fits into {bay}. Keep room beside it."),
        "browns": _("dry browns"),
        "greens": _("greens"),
    }


def _of_problems() -> dict[str, str]:
    return {
        "not yet": _("Not kept yet. {problem}"),
        "full": _(
            "Not kept: this phone is full. What you entered is still here. Make room and try again, or write it down."
        ),
        "failed": _(
            "Not kept: this phone did not take it. What you entered is still here. Try again, or write it down."
        ),
        "no ground": _("Nothing is set up here yet: no site and no bays. A coordinator does that under Set-up."),
        "no store": _(
            "This phone's store does not open. Nothing can be kept here just now: "
            "close other windows of this page, then open it again."
        ),
        "no bays": _("There is no bay here yet. A coordinator sets bays up."),
        "half a date": _("The date is not finished. Choose day and time, or clear it."),
        "no words": _("Write a few words first."),
        "never": _("{material} never goes in. {instead}"),
        "litres?": _("Say how many litres one of them holds, like 12."),
        "fill in": _("{label}: please fill this in."),
        "number": _("{label}: must be a number, like 1200 or 2.5."),
        "range": _("{label}: must be from {least} to {most}."),
        "halves": _("{label}: in halves, like 2.5."),
        "what first": _("Choose what happened first."),
        "weights": _("Full it must weigh more than empty. Look at the two weights again."),
    }


def _of_questions() -> dict[str, str]:
    return {
        "is closed": _("{bay} is closed: nothing more goes in."),
        "closed but": _("{bay} is closed: nothing more goes in. {other} is being fed."),
        "it went": _("It went into {bay}"),
        "use": _("Use {bay}"),
        "treated?": _("Was it treated? {instead}"),
        "treated": _("Yes, it was"),
        "no": _("No"),
        "really?": _("Really {n} of them?"),
        "really": _("Yes, {n}"),
        "change": _("No, change it"),
        "ahead?": _("This date lies ahead."),
        "old?": _("This date is more than a year back."),
        "keep so": _("Keep it so"),
        "change date": _("Change it"),
    }


def _of_carrying_off() -> dict[str, str]:
    """The page of what a phone keeps."""
    return {
        "file says": _("Give this to a coordinator. They bring it in under: The tray, From a phone."),
        "saved": _("Carried off {when}. It still waits here, too, till it is sent."),
        "promised": _("✓ This browser has promised to keep it, also when the phone is nearly full."),
        "not promised": _("This browser has not promised to keep it. On a full phone it may go. Send it soon."),
        "number": _("This phone's number begins with {number}."),
        "not needed": _("I do not need it"),
        "throw this": _("Nobody can get it back."),
        "throw away": _("Throw it away"),
        "leave it": _("Leave it"),
        "nobody's yet": _("… waiting for whoever recorded it: you said it is not yours"),
        "mine after all": _("It is mine after all"),
    }


def _of_list() -> dict[str, str]:
    """The list of what this phone recorded, and the line that says what waits."""
    return {
        "nothing": _("Nothing in the last day."),
        "taken back": _("✕ taken back"),
        "undone": _("✕ undone"),
        "corrected": _("✕ corrected"),
        "sent": _("✓ sent"),
        "needs you": _("! needs you"),
        "another's": _("… waiting for the person who recorded it"),
        "waiting": _("… kept on this phone, waiting"),
        "bring back": _("Bring it back"),
        "correct": _("Correct"),
        "again": _("Try again"),
        "take back": _("Take it back"),
        "till then": _("Kept on this phone till then."),
        "all wait": _("{n} waiting, kept on this phone."),
        "others wait": _("{n} for somebody else."),
        "set aside": _("! Some here cannot be read."),
        "all sent": _("✓ All sent."),
        "none wait": _("Nothing waits on this phone."),
        "last sent": _("Last sent {when}."),
    }


def _of_values(*fields: str) -> dict[str, str]:
    """The ledger's own values, as they read inside a sentence."""
    return {f"{field} {value}": str(word) for field in fields for value, word in VALUE_WORDS[field].items()}


def _counts() -> dict[str, Callable[[int], str]]:
    return {
        "need": lambda n: ngettext("! {n} needs you.", "! {n} need you.", n),
        "sign in": lambda n: ngettext("Sign in to send {n} entry", "Sign in to send {n} entries", n),
        "litres": lambda n: ngettext("{n} litre", "{n} litres", n),
        "water": lambda n: ngettext("{n} litre of water", "{n} litres of water", n),
        "bags": lambda n: ngettext("{bags} bag", "{bags} bags", n),
        "hours": lambda n: ngettext("{n} hour", "{n} hours", n),
        "people": lambda n: ngettext("{n} person", "{n} people", n),
    }


def _further_counts() -> dict[str, Callable[[int], str]]:
    return {
        "bags in store": lambda n: ngettext("In store: {bags} bag of compost", "In store: {bags} bags of compost", n),
        "mulched": lambda n: ngettext("Mulched {n} square metre", "Mulched {n} square metres", n),
    }
