"""What does not go the way of the heap: leaves that become leaf mould, roots that are drowned first."""

from django.utils.translation import gettext_lazy as _

from heaps.guide.shape import PRACTICE, Chapter, Part, line

LEAF_MOULD = Chapter(
    "leaf-mould",
    _("Leaf mould"),
    _("Leaves in bulk rot by themselves, cool and slow. They want damp and time, not turning."),
    (
        Part(
            "leaf-bin",
            _("The bin"),
            (
                line(_("Wire round four posts will do, or a sack pierced with holes."), PRACTICE),
                line(_("Wet the leaves as you fill it. Keep them damp in dry months. No need to turn."), "RHS-LM"),
                line(_("Heap it high: it sinks to a quarter or a third in a year or two."), "mem-M"),
            ),
            found_by=_("leaf mould, leafmould, leaf bin, wire bin, leaf bag, autumn leaves"),
        ),
        Part(
            "two-bins",
            _("One year, two years"),
            (
                line(_("Keep two bins: fill one each autumn. Last year’s bin rests on."), PRACTICE),
                line(
                    _("After about one year it is a mulch. After two it is fine enough for seeds and pots."),
                    "RHS-LM",
                    "mem-H",
                ),
            ),
            found_by=_("how long leaf mould, two bins, one year, two years"),
        ),
        Part(
            "quick-leaves",
            _("Quick leaves"),
            (
                line(_("Ash, lime, maple, cherry, alder, hazel and birch go first."), "VEST08", "mem-M"),
                line(_("Count on 9 to 18 months."), "mem-M"),
            ),
            found_by=_("ash leaves, lime leaves, maple, cherry, birch, hazel, alder, quick leaves"),
        ),
        Part(
            "oak-beech",
            _("Oak, beech, hornbeam"),
            (
                line(_("They need little help. Give them one year for mulch and two for pots."), "RHS-LM", "mem-H"),
                line(_("Sources differ on beech. In one lab year it lost less than oak did."), "SARI03"),
            ),
            found_by=_("oak leaves, beech leaves, hornbeam"),
        ),
        Part(
            "tough-leaves",
            _("Tough leaves"),
            (
                line(_("Sycamore, plane, walnut and chestnut are thick. Shred them first."), "RHS-LM"),
                line(_("Whole they take 2 to 3 years. Shredded, about one and a half."), "mem-M"),
                line(_("Sources differ: out of doors the maples, kin of sycamore, went fast."), "VEST08"),
                line(_("For their second year mix them with that autumn’s soft leaves."), PRACTICE),
            ),
            found_by=_("tough leaves, sycamore, plane, walnut, chestnut, thick leaves"),
        ),
        Part(
            "keep-apart",
            _("Keep these apart"),
            (
                line(_("Shred holly and laurel and mix them into a heap."), "RHS-LM"),
                line(_("Needles take 2 to 3 years in a bin of their own. They end up acid."), "RHS-LM"),
                line(_("Take no leaves from a road or a gutter: they hold oil and plastic."), "mem-H"),
            ),
            found_by=_("holly, laurel, needles, pine needles, road leaves, gutter"),
        ),
    ),
)

SOAKING_TUB = Chapter(
    "soaking-tub",
    _("The soaking tub"),
    _("Some weeds grow again from a scrap. Under water they die and rot."),
    (
        Part(
            "which-weeds",
            _("What goes in the tub"),
            (
                line(_("Roots of bindweed, couch, ground elder, dock, horsetail and the like."), "GO-WEED"),
                line(_("Weeds that carry seed."), "GO-WEED", "LARNEY03"),
                line(_("Never knotweed or other invasive plants: they stay where they are."), "KNOT"),
            ),
            found_by=_(
                "soaking tub, weed roots, bindweed, couch, ground elder, dock, horsetail, drown weeds, perennial weeds"
            ),
        ),
        Part(
            "how-soak",
            _("How to do it"),
            (
                line(_("Shake off the soil. Push the weeds under water and hold them down with a stone."), "GO-WEED"),
                line(
                    _("Write the date on the tub. Keep the lid on and fixed: it smells, and children fall in."),
                    PRACTICE,
                ),
                line(_("Wait 3 to 6 weeks. Fleshy roots and seed take 6 to 12."), "GO-WEED", PRACTICE),
                line(_("From October to March each day counts half."), PRACTICE),
            ),
            found_by=_("how to drown weeds, soak, weeds in water, weed tea"),
        ),
        Part(
            "when-soaked",
            _("When it is done"),
            (
                line(_("All is soft and brown and falls apart. Nothing white and firm is left."), "GO-WEED", PRACTICE),
                line(_("Tip the slop onto a heap that is dry, and cover it with browns. Gloves on."), PRACTICE),
            ),
            found_by=_("done soaking, out of the tub, slop"),
        ),
        Part(
            "without-tub",
            _("Without a tub"),
            (
                line(_("Dry thin roots, such as couch, in the sun until they snap."), "GO-WEED"),
                line(_("Do not trust the sun with bindweed, dock, dandelion or seed."), PRACTICE),
                line(_("Or tie them up in a dark sack for about two years."), PRACTICE),
                line(_("Or give them to the council’s green bin."), PRACTICE),
            ),
            found_by=_("dry roots, dark bag, green bin, council"),
        ),
    ),
)
