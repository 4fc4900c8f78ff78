"""The year in the bays, month by month, as it is commonly done in the United Kingdom."""

from django.utils.translation import gettext_lazy as _

from heaps.guide.shape import PRACTICE, Chapter, Part, line

YEAR = Chapter(
    "year",
    _("The year in the bays"),
    _("Month by month in the United Kingdom. A cold or late year shifts all of it."),
    (
        Part(
            "january",
            _("January"),
            (
                line(_("Little rots now. Keep lids on and leave the heaps alone."), PRACTICE),
                line(_("Bury kitchen scraps deep. Look for rat holes each week."), "TESTVAL", PRACTICE),
            ),
        ),
        Part(
            "february",
            _("February"),
            (
                line(_("Spread mulch on damp beds, from now until early spring."), "RHS-MULCH"),
                line(_("Sieve what is ready and make room."), PRACTICE),
            ),
        ),
        Part(
            "march",
            _("March"),
            (
                line(_("Turn what lay still all winter. Add greens: it warms again."), PRACTICE),
                line(_("Look under the heap first. Toads and hedgehogs may sleep there."), PRACTICE),
            ),
        ),
        Part(
            "april",
            _("April"),
            (
                line(_("First grass. Have browns at hand before it comes."), PRACTICE),
                line(_("Before you take dung, hay or straw, ask what was sprayed on the field."), "HORFIELD"),
            ),
        ),
        Part(
            "may",
            _("May"),
            (
                line(_("Greens come in heaps. Match each load with browns."), PRACTICE),
                line(_("Pull weeds before they seed. The rest goes into the tub."), "GO-WEED", PRACTICE),
            ),
        ),
        Part(
            "june",
            _("June"),
            (
                line(_("The best month for a hot heap: build it in one go and turn it often."), PRACTICE),
                line(_("Cut comfrey and nettles for it."), PRACTICE),
            ),
        ),
        Part(
            "july",
            _("July"),
            (
                line(_("Heaps dry out. Water them as you turn, and damp them before."), "RHS-HS", PRACTICE),
                line(_("Cap fruit and peelings: flies are quick now."), "EXT-TS"),
            ),
        ),
        Part(
            "august",
            _("August"),
            (
                line(_("Look at potato and tomato tops. Any sign of blight: not in the heap."), "RHS-MC"),
                line(_("Bean stalks are good browns. Chop them."), PRACTICE),
            ),
        ),
        Part(
            "september",
            _("September"),
            (
                line(_("Windfalls go in thin layers, each with twice as much dry browns."), "mem-H"),
                line(_("Empty the old leaf bin: new leaves are on their way."), PRACTICE),
            ),
        ),
        Part(
            "october",
            _("October"),
            (
                line(_("Fill the leaf bin and wet it."), "RHS-LM"),
                line(_("Store some dry leaves in sacks. They are next summer’s browns."), PRACTICE),
            ),
        ),
        Part(
            "november",
            _("November"),
            (
                line(_("Last leaves. Cover heaps and the compost on beds against rain."), PRACTICE),
                line(_("Build one big heap, not three small ones: it holds its heat."), "RHS-COMP", "RHS-TRIAL"),
            ),
        ),
        Part(
            "december",
            _("December"),
            (
                line(_("Quiet. Mend boards, mesh and lids. Clean and oil tools."), PRACTICE),
                line(_("Coffee, card and peelings still come. Cover each load."), PRACTICE),
            ),
        ),
    ),
)
