"""Taking bags, and what beds need."""

from django.utils.translation import gettext_lazy as _

from heaps.guide.shape import PRACTICE, RECKONED, Chapter, Part, line

USE = Chapter(
    "use",
    _("Bags and beds"),
    _("How much to take, where it does good, and how to keep it."),
    (
        Part(
            "bags",
            _("A bag"),
            (
                line(
                    _("Compost weighs 500 to 900 kg for each m³. So 40 litres weigh 20 to 36 kg."), "AGNEW03", RECKONED
                ),
                line(_("Fill bags half, or carry them in pairs. Do not lean over an open bag."), "HSE-143", "PHS24"),
                line(_("40 litres cover 0.8 m² at 5 cm, or 1.6 m² at 2.5 cm."), RECKONED),
            ),
            found_by=_("bag, how heavy is a bag, how far does a bag go, taking bags, collect"),
        ),
        Part(
            "mulch",
            _("Mulch on beds"),
            (
                line(_("Lay it 2.5 to 7.5 cm deep, and keep it off the stems."), "WRAP-M"),
                line(_("At least 5 cm each year, late winter to early spring, is one advice."), "RHS-MULCH"),
            ),
            found_by=_("mulch, mulching, how deep, spread, top of beds"),
        ),
        Part(
            "trees",
            _("Round a tree"),
            (line(_("A circle 1 m wide takes 20 to 60 litres."), "WRAP-M"),),
            found_by=_("tree, trees, shrubs, fruit trees, hedge"),
        ),
        Part(
            "dig-in",
            _("Dug in"),
            (line(_("2 to 5 cm a year: that is 20 to 50 litres for each m²."), "mem-H"),),
            found_by=_("dig in, dig, vegetable bed, soil"),
        ),
        Part(
            "lawn",
            _("On a lawn"),
            (line(_("3 to 5 litres for each m², sieved fine and brushed in."), "mem-M"),),
            found_by=_("lawn, grass, top dressing"),
        ),
        Part(
            "pots",
            _("In pots"),
            (line(_("A tenth to a third of the mix, sieved. Only what is ready."), "mem-H"),),
            found_by=_("pots, potting mix, containers, seeds, sowing, potting"),
        ),
        Part(
            "enough",
            _("When is it too much?"),
            (
                line(
                    _(
                        "A 5 cm layer holds about 225 g of nitrogen for each m². "
                        "Some farms may spread no more than 25 g in a year."
                    ),
                    RECKONED,
                    "mem-H",
                ),
                line(
                    _("Most of it is freed slowly. Still, give thick layers now and then, and share the rest."),
                    PRACTICE,
                ),
            ),
            found_by=_("too much compost, how much compost, nitrogen limit"),
        ),
        Part(
            "keeping",
            _("Keeping it"),
            (
                line(_("Keep it covered, damp and cool, out of the sun, with some air."), "WRAP-M", "mem-H"),
                line(_("About a third to a half of it may be water (35 to 55 %)."), "WRAP-M"),
                line(_("Use it within about a year. Write batch and date on each bag."), "mem-H"),
            ),
            found_by=_("store compost, keep compost, storage, label, shelf life"),
        ),
        Part(
            "before-use",
            _("Before you use it"),
            (
                line(_("Young compost goes on top only, never in pots."), "mem-H"),
                line(
                    _(
                        "Was there dung, hay or straw in it? "
                        "Sow beans in a pot of it and in one of clean compost. Wait 4 weeks."
                    ),
                    "HORFIELD",
                    "mem-H",
                ),
                line(_("Wash what you grow in it, and wash your hands."), "PHS24", PRACTICE),
            ),
            found_by=_("bean test, young compost, test compost, weedkiller test, bioassay"),
        ),
    ),
)
