"""What advice says: causes, what to do, rules of heat, tests and uses, as they read on a page."""

from collections.abc import Callable

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from heaps.ledger.kinds import Verdict
from heaps.science.diagnosis import Likely
from heaps.science.leaf_mould import Advice
from heaps.science.readiness import Stage, Trial, Use
from heaps.science.signs import Cause, Do
from heaps.value_words import VALUE_WORDS
from members.numerals import exact

CAUSES: dict[Cause, str | Promise] = {
    Cause.TOO_GREEN: _("Too many greens"),
    Cause.LIME_OR_ASH: _("Ash or lime in it"),
    Cause.NO_AIR: _("No air gets in"),
    Cause.TOO_WET: _("Too wet"),
    Cause.NO_ROOF: _("No lid or sheet on it"),
    Cause.TOO_DRY: _("Too dry"),
    Cause.TOO_BROWN: _("Too many browns"),
    Cause.DONE: _("It is done heating"),
    Cause.SMALL: _("It is small"),
    Cause.WINTER: _("The cold months"),
    Cause.DRY_EDGES: _("Dry edges"),
    Cause.USED_UP: _("Its air or water is used up"),
    Cause.BIG_AND_RICH: _("Big, and rich in greens"),
    Cause.OPEN_FRUIT: _("Fruit or peelings lie open"),
    Cause.MEAT_OR_DUNG: _("Meat, cheese or fresh dung"),
    Cause.FOOD: _("There is food in it"),
    Cause.QUIET: _("It is dry and never moved"),
    Cause.SHEETS: _("It lies in sheets"),
    Cause.TOUGH_LEAVES: _("Leaves of a tough kind"),
    Cause.WOODY: _("Much wood in it"),
    Cause.NEVER_TURNED: _("Not turned for long"),
    Cause.SEED_LIVED: _("Seed lived through it"),
    Cause.ROOTS_LIVE: _("Live roots in it"),
    Cause.TOO_YOUNG: _("It is too young"),
    Cause.WEEDKILLER: _("A weedkiller that lasts"),
}

#: What a tap on the button says was done.
DEEDS: dict[Do, str | Promise] = {
    Do.MIX_BROWNS: _("Mixed in dry browns"),
    Do.CAP: _("Capped with browns"),
    Do.NO_ASH: _("Told all: no ash"),
    Do.TURN_COARSE: _("Turned with coarse, dry stuff"),
    Do.COVER: _("Covered"),
    Do.DRAIN: _("Made it drain"),
    Do.NO_KITCHEN: _("Told all: no wet scraps for two weeks"),
    Do.BASE: _("Dry browns put at the bottom"),
    Do.TURN_AND_WATER: _("Turned and watered in layers"),
    Do.GREENS: _("Mixed in greens"),
    Do.DAMP_FIRST: _("Damped"),
    Do.REST: _("Left to mature"),
    Do.BUILD: _("Built up in one go"),
    Do.WRAP: _("Wrapped"),
    Do.OUTSIDE_IN: _("Turned, outside to the inside"),
    Do.SPLIT: _("Turned, wetted and split"),
    Do.BURY: _("Buried the peelings"),
    Do.TAKE_OUT: _("Took it out"),
    Do.KEEP_FOOD_OUT: _("Told all: no cooked food"),
    Do.MESH: _("Put mesh below"),
    Do.DISTURB: _("Turned and damped"),
    Do.TELL: _("Told a coordinator"),
    Do.LEAVE_NEST: _("Left the nest alone"),
    Do.BREAK_UP: _("Forked the sheets apart"),
    Do.SHRED: _("Wetted and shredded"),
    Do.SIEVE: _("Sieved"),
    Do.HOE: _("Hoed, or put under mulch"),
    Do.DROWN: _("Put in the soaking tub"),
    Do.ON_TOP: _("Laid on top only"),
    Do.STOP_USE: _("Stopped its use, sowed beans"),
}

#: Work that can hurt, and the usual caution: it stands where the work is offered.
TURNING = _("Turning: damp what is dry, stand upwind, wear a mask. With asthma or a weak chest, leave it to others.")
CAUTIONS: dict[Do, str | Promise] = {
    Do.TURN_COARSE: TURNING,
    Do.TURN_AND_WATER: TURNING,
    Do.OUTSIDE_IN: TURNING,
    Do.DISTURB: TURNING,
    Do.BREAK_UP: TURNING,
    Do.SPLIT: _("Steam scalds: gloves on, face back. 80 °C or smoke: do not open it, call the fire service."),
    Do.SHRED: _("Shredding: only people who were shown how. Cover eyes and ears."),
    Do.TAKE_OUT: _("Gloves on, cuts covered. Wash your hands with soap."),
    Do.MESH: _("Rats carry germs: gloves on, cuts covered, wash your hands. If they stay, call pest control."),
    Do.DROWN: _("Keep the lid of the tub fixed: small children drown in little water."),
    Do.HOE: _("Wash your hands after working in compost."),
    Do.SIEVE: _("Do not lean over it. Wear gloves, and a mask if it is dry."),
    Do.BUILD: _("Part-fill barrows, and lift in pairs."),
}

TRIALS: dict[Trial, str | Promise] = {
    Trial.LOOK: _("The look"),
    Trial.SMELL: _("The smell"),
    Trial.NO_REHEATING: _("No new heat"),
    Trial.FLASK: _("The flask"),
    Trial.GERMINATION: _("Cress or beans"),
}
#: How each test is done. Times of cress and beans, and of the flask, are from memory (medium).
HOW: dict[Trial, str | Promise] = {
    Trial.LOOK: _("Take a handful from the middle. Say which of five words fits."),
    Trial.SMELL: _("Smell the handful. It should smell of woods, or of nothing."),
    Trial.NO_REHEATING: _(
        "Turn it and wet it. Take the heat of the core from the third day to the tenth. "
        "It should stay within 10 °C of the air."
    ),
    Trial.FLASK: _(
        "Wet a sample like a wrung sponge. Fill a two-litre vacuum flask and stand it in a room, open. "
        "Read it each day for a week: how far above the room did it get? 10 °C or less is finished."
    ),
    Trial.GERMINATION: _(
        "Sow 10 seeds or more in it, and as many in bought compost that is known to be good. "
        "Count cress after 7 days, beans after 14. It needs 80 of those in the other pot for each 100."
    ),
}
STAGES: dict[Stage, str | Promise] = {
    Stage.RAW: _("raw"),
    Stage.YOUNG: _("young"),
    Stage.MATURE: _("mature"),
    Stage.FINISHED: _("finished"),
}
USES: dict[Use, str | Promise] = {
    Use.NONE: _("Leave it in the heap."),
    Use.MULCH_APART: _("A mulch under trees and shrubs, off the stems. Nothing else yet."),
    Use.MULCH: _("A mulch on beds. Not dug in yet, and not in pots."),
    Use.DIG_IN: _("On beds or dug in. Not in pots yet."),
    Use.POTS: _("In pots, too: up to a third of the mix, sieved."),
}
LEAF_ADVICE: dict[Advice, str | Promise] = {
    Advice.AS_THEY_ARE: _("Leave them whole, and keep them damp."),
    Advice.SHRED: _("Shred them: it takes about six tenths of the time."),
    Advice.SECOND_YEAR_MIXED: _("Give tough leaves a second year, mixed with that autumn’s soft ones."),
    Advice.MIXED_HEAP: _("Shred these and mix them into a heap. They do not belong in here."),
    Advice.APART: _("Keep these in a bin of their own."),
    Advice.WET_IT: _("Wet it now: dry leaves stand still. The time counts from then."),
}
#: What the sources say that put a kind elsewhere.
LEAF_DISAGREE = {
    "SARI03": _("One lab year at 18 °C: beech lost less than oak."),
    "VEST08": _("Out of doors the maples, kin of sycamore, were among the fastest."),
}


#: What each sign is called inside a line. The guide tells of each at length, under the same keys.
SIGN_WORDS: dict[str, str | Promise] = {
    "ammonia": _("ammonia smell"),
    "rotten": _("sour or rotten smell"),
    "wet": _("wet and slimy"),
    "juice": _("brown water runs out"),
    "dry": _("dry and dusty"),
    "white": _("white dust or threads"),
    "cold-sweet": _("cold, but damp and sweet"),
    "cold-small": _("cold and small"),
    "warm-middle": _("warm only in the middle"),
    "cooled": _("hot, then soon cool"),
    "too-hot": _("hotter than 65 °C"),
    "ants": _("ants"),
    "fruit-flies": _("small flies"),
    "flies": _("house flies or maggots"),
    "rats": _("rats"),
    "wasps": _("wasps"),
    "matted": _("sheets of grass, leaves or paper"),
    "leaves-unchanged": _("leaves that hardly change"),
    "lumpy": _("lumpy after a year"),
    "seedlings": _("seedlings"),
    "shoots": _("shoots from bits of root"),
    "yellow": _("plants turn yellow"),
    "cupped": _("bean or tomato leaves curl"),
}


def sign_word(key: str) -> str:
    """What a sign is called inside a line."""
    return str(SIGN_WORDS[key])


def watched_word(word: str) -> str:
    """What is looked at again, as a reading calls it, or as the table does."""
    return str(VALUE_WORDS["sign"].get(word) or SIGN_WORDS[word])


def shown_by(verdict: Verdict) -> str:
    """What a test showed, as written down with its answer; empty where nothing was."""
    if verdict.look:
        return str(VALUE_WORDS["looks"][verdict.look])
    if verdict.smell:
        return str(VALUE_WORDS["smells"][verdict.smell])
    if verdict.rise_tenths_k is not None:
        return _("{n} °C above the air").format(n=exact(verdict.rise_tenths_k, 10))
    if verdict.sown:
        return _("{up} of {sown} came up, {control_up} of {control_sown} in the other pot").format(
            up=verdict.came_up, sown=verdict.sown, control_up=verdict.control_up, control_sown=verdict.control_sown
        )
    return ""


def figure_of(one: Likely) -> str:
    """The heap's own number that a cause was judged by, as a sentence; empty where there is none."""
    if one.figure is None or one.cause not in FIGURES:
        return ""
    return FIGURES[one.cause](one.figure)


def _ratio(figure: float) -> str:
    return _("Its C:N is {n}.").format(n=round(figure))


def _water(figure: float) -> str:
    return _("{n} % of it is water.").format(n=round(100 * figure))


def _days(figure: float) -> str:
    return ngettext("Not turned for {n} day.", "Not turned for {n} days.", round(figure)).format(n=round(figure))


def _part(says: str | Promise) -> Callable[[float], str]:
    return lambda figure: str(says).format(n=round(100 * figure))


def _either(yes: str | Promise, no: str | Promise) -> Callable[[float], str]:
    return lambda figure: str(yes if figure else no)


_TOLD = _either(_("Some went in."), _("None was recorded."))
FIGURES: dict[Cause, Callable[[float], str]] = {
    Cause.TOO_GREEN: _ratio,
    Cause.TOO_BROWN: _ratio,
    Cause.BIG_AND_RICH: _ratio,
    Cause.TOO_WET: _water,
    Cause.TOO_DRY: _water,
    Cause.DRY_EDGES: _water,
    Cause.NO_AIR: _part(_("{n} % of it is air.")),
    Cause.NO_ROOF: _either(_("It is covered."), _("It is not covered.")),
    Cause.LIME_OR_ASH: _part(_("{n} % of it was ash.")),
    Cause.OPEN_FRUIT: _part(_("{n} % of it was from kitchens.")),
    Cause.FOOD: _part(_("{n} % of it was from kitchens.")),
    Cause.MEAT_OR_DUNG: _part(_("{n} % of it was dung.")),
    Cause.SHEETS: _part(_("{n} % of it packs flat.")),
    Cause.TOUGH_LEAVES: _part(_("{n} % of it was tough leaves.")),
    Cause.WOODY: _part(_("{n} % of it was wood.")),
    Cause.SMALL: lambda figure: _("About {n} litres lie in it.").format(n=round(figure)),
    Cause.DONE: lambda figure: ngettext("Last load {n} day ago.", "Last load {n} days ago.", round(figure)).format(
        n=round(figure)
    ),
    Cause.USED_UP: _days,
    Cause.QUIET: _days,
    Cause.NEVER_TURNED: _days,
    Cause.SEED_LIVED: lambda figure: _("At its hottest {n} °C.").format(n=round(figure)),
    Cause.ROOTS_LIVE: _TOLD,
    Cause.WEEDKILLER: _either(_("Dung, hay or straw went in."), _("No dung, hay or straw was recorded.")),
    Cause.TOO_YOUNG: _either(_("It was found ready."), _("Nobody has found it ready.")),
    Cause.WINTER: _either(_("It is that time of year."), _("It is not that time of year.")),
}
