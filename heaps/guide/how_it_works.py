"""How a heap works: browns and greens, its stages, and turning, watering and air."""

from django.utils.translation import gettext_lazy as _

from heaps.guide.shape import PRACTICE, Chapter, Part, line

BALANCE = Chapter(
    "balance",
    _("Browns and greens"),
    _("A heap is food for small life. It wants a mix of two kinds, some water, and air."),
    (
        Part(
            "greens",
            _("Greens"),
            (
                line(_("Greens are soft and wet: grass, peelings, weeds, coffee, dung."), PRACTICE),
                line(_("They hold much nitrogen. The small life needs it to grow, and it makes a heap hot."), "COR-CN"),
            ),
            found_by=_("greens, nitrogen, what are greens"),
        ),
        Part(
            "browns",
            _("Browns"),
            (
                line(_("Browns are dry and stiff: leaves, straw, card, chip, twigs."), PRACTICE),
                line(_("They hold much carbon, which is what the small life burns."), "COR-CN"),
                line(_("The coarse ones keep the heap open. A third to two thirds of it may be pores."), "TN24"),
            ),
            found_by=_("browns, carbon, what are browns, structure, coarse"),
        ),
        Part(
            "why",
            _("Why the mix matters"),
            (
                line(_("Too many greens: no air, slime, a bad smell. Nitrogen is lost as ammonia."), "EXT-TS"),
                line(_("Too many browns: the heap stays cold and takes years."), "EXT-TS"),
            ),
            found_by=_("balance, mix, ratio, why balance"),
        ),
        Part(
            "ratio",
            _("How much of each"),
            (
                line(_("By weight, 30 parts carbon to 1 part nitrogen is a good start (C:N 30)."), "COR-CN"),
                line(_("From 25 to 40 goes well. From 20 to 60 can still work."), "COMPHB"),
                line(
                    _(
                        "By the bucket, advice differs. One says a quarter to half soft greens. "
                        "One says two or three buckets of browns to one of greens."
                    ),
                    "RHS-COMP",
                    "UCSONOMA",
                ),
                line(
                    _("A bucket of fluffy leaves holds little. So these pages count dry weight, not buckets."),
                    "COR-MIX",
                ),
            ),
            found_by=_("c:n, carbon nitrogen ratio, how much browns, how many buckets, cn"),
        ),
        Part(
            "sponge",
            _("How wet"),
            (
                line(_("Squeeze a handful. It should feel like a wrung-out sponge and give a drop or two."), "TK31"),
                line(_("That is 50 to 60 % water. From 40 to 65 % will do."), "COMPHB"),
            ),
            found_by=_("moisture, squeeze test, sponge, how wet, hand test"),
        ),
        Part(
            "size",
            _("How big"),
            (line(_("About 1 m³ or more keeps its heat. Smaller heaps rot too, only slower."), "RHS-COMP"),),
            found_by=_("size, how big, cubic metre, minimum size"),
        ),
    ),
)

STAGES = Chapter(
    "stages",
    _("The stages of a heap"),
    _("Each heap goes through four stages. Times are wide: weather, size and turning change them."),
    (
        Part(
            "filling",
            _("1. Filling"),
            (
                line(_("Loads come in. You can tell each thing: peel, stalks, leaves. It smells fresh."), PRACTICE),
                line(
                    _("Put greens and browns in together, in thin layers. End with browns on top."), "EXT-TS", PRACTICE
                ),
                line(_("How long: days to a season, until a coordinator closes the bay."), PRACTICE),
            ),
            found_by=_("filling, new heap, start a heap, begin"),
        ),
        Part(
            "working",
            _("2. Working"),
            (
                line(
                    _(
                        "A well-made heap is at 40 to 50 °C in two or three days. "
                        "A large one is at 60 to 70 °C in three to five."
                    ),
                    "COR-PHYS",
                ),
                line(_("It steams and sinks, and looks matted and brown. It smells warm and a bit sharp."), PRACTICE),
                line(
                    _("Small bays filled in late autumn were only a few degrees warmer than the air in one trial."),
                    "RHS-TRIAL",
                ),
                line(_("How long: 3 to 6 weeks when it is hot and often turned."), "mem-H"),
                line(_("How long if turned once a month or not at all: half a year to two years."), "RHS-COMP"),
            ),
            found_by=_("working, hot stage, heating, active, steam, how long does it take"),
        ),
        Part(
            "maturing",
            _("3. Maturing"),
            (
                line(_("It stays cool, even when it is turned and wet. Worms move in."), "USDA-317", PRACTICE),
                line(_("It goes dark and smells of soil. It feels soft, with some twigs in it."), PRACTICE),
                line(_("How long: at least 4 weeks after its last heat. Better 8 to 12."), "mem-H"),
            ),
            found_by=_("maturing, curing, resting, worms, ripening"),
        ),
        Part(
            "ready",
            _("4. Ready"),
            (
                line(_("It is dark and crumbly and smells like a wood. Only twigs can still be told apart."), "YPTE"),
                line(_("Turned and wetted, it gets no more than 10 °C warmer than the air."), "BRINTON95"),
                line(_("Cress or beans come up in it as well as in other compost."), "mem-H"),
                line(_("The volume has gone down by a quarter to more than a half."), "NRAES54-Y"),
                line(_("A coordinator looks, tests, and says that it is ready. No sum does that."), PRACTICE),
            ),
            found_by=_("ready, finished, done, mature, when is it ready, is my compost ready, cress test"),
        ),
    ),
)

CARE = Chapter(
    "care",
    _("Turning, water and air"),
    _("Three things keep a heap going. Most heaps need them more than they need new stuff."),
    (
        Part(
            "why-turn",
            _("Why turn"),
            (
                line(
                    _("Turning lets air in, mixes wet with dry, and brings the cold edge into the warm core."),
                    "EXT-TS",
                    PRACTICE,
                ),
                line(_("Some heaps go unturned. They get there later."), "RHS-COMP"),
            ),
            found_by=_("turning, turn, why turn, mixing, aerate"),
        ),
        Part(
            "when-turn",
            _("When to turn"),
            (
                line(
                    _("Turn when it cools early, when it smells, when it is wet, or over 65 °C."), "COR-PHYS", "EXT-TS"
                ),
                line(_("Once a month is common advice."), "RHS-COMP"),
                line(_("A hot batch is turned every 3 to 7 days."), "mem-H"),
                line(_("Damp a dry heap first. Put the outside into the middle."), "RHS-HS", "EXT-TS"),
            ),
            found_by=_("when to turn, how often, turning, turn"),
        ),
        Part(
            "watering",
            _("Water"),
            (
                line(
                    _("Water layer by layer while you turn. Water poured on top runs down one path."),
                    "EXT-TS",
                    PRACTICE,
                ),
                line(_("Stop when a handful feels like a wrung-out sponge."), "TK31"),
                line(_("A lid keeps rain out in winter and damp in during summer."), PRACTICE),
            ),
            found_by=_("water, watering, lid, cover, rain, hose"),
        ),
        Part(
            "air",
            _("Air"),
            (
                line(
                    _("The small life breathes. More than 10 % oxygen in the pores is good, 5 % the least."), "COOP02"
                ),
                line(_("Put twigs at the bottom and coarse bits in each layer. Do not tread it down."), PRACTICE),
            ),
            found_by=_("air, oxygen, aeration, twigs at the bottom, tread"),
        ),
        Part(
            "probe",
            _("Taking its heat"),
            (
                line(_("Push the probe into the core and wait until it stands still. Write down the place."), PRACTICE),
                line(
                    _("One heap can be 55 °C here and 30 °C there. So one reading does not speak for all of it."),
                    "KAMP24",
                ),
                line(
                    _(
                        "Heat kills weed seed, but slowly. "
                        "At 55 to 65 °C in the core, none of 12 kinds lived after 4 weeks."
                    ),
                    "TOMPKINS98",
                ),
                line(
                    _("For plant disease, no shared heap can promise to be hot enough all through."),
                    "NOBLE04",
                    "RYCK02",
                ),
            ),
            found_by=_("temperature, thermometer, probe, heat, weed seed, kill weeds, how hot"),
        ),
    ),
)
