"""What the forecasts say, why they are wide, and what makes them better."""

from django.utils.translation import gettext_lazy as _

from heaps.guide.shape import PRACTICE, RECKONED, Chapter, Part, line

FORETELLING = Chapter(
    "forecasts",
    _("What the forecasts say"),
    _("Each heap's page says how many bags it may give, and when. It is a sum, not a promise."),
    (
        Part(
            "range",
            _("A range, not a day"),
            (
                line(_("Of ten heaps, eight should end within the range that is shown."), RECKONED),
                line(
                    _(
                        "Bags can be foretold fairly well. When a heap is ready can hardly be: "
                        "half of all such forecasts are wrong by some weeks."
                    ),
                    RECKONED,
                ),
                line(_("So plan with the months, and let a look and a test decide."), PRACTICE),
            ),
            found_by=_("forecast, range, when ready, how many bags, how sure, wrong forecast, prediction"),
        ),
        Part(
            "what-it-knows",
            _("What it reckons with"),
            (
                line(_("What went in, how wet and how full it was, the turns, and the usual weather there."), RECKONED),
                line(
                    _("Readings of this heap: heat, fill, a squeeze of a handful. One far off is set aside."),
                    RECKONED,
                ),
                line(_("What came of earlier heaps here: their bags, and when they were called ready."), RECKONED),
                line(
                    _("A rule of thumb and sums of how heaps rot count together. Harvests show how far to trust each."),
                    RECKONED,
                ),
                line(_("Before there are any, what heaps lose elsewhere: a quarter to more than half."), "NRAES54-Y"),
            ),
            found_by=_("model, how is it reckoned, what does it know, weather, learning"),
        ),
        Part(
            "better",
            _("What makes it better"),
            (
                line(_("Mark how full the bay is, now and then. It helps the count of bags most."), RECKONED),
                line(_("Look some two months after the last load, and say in five words how far it is."), RECKONED),
                line(_("Count the bags at each harvest. Say on the heap's page when it is ready."), RECKONED),
                line(_("Weigh ten buckets of what comes most. The page of the year says which."), RECKONED),
            ),
            found_by=_("narrower, better forecast, what to measure, fill mark, look, weigh"),
        ),
        Part(
            "past",
            _("How good it has been"),
            (
                line(
                    _("The page of past forecasts shows each one beside what came. The bad ones stand there, too."),
                    RECKONED,
                ),
            ),
            found_by=_("past forecasts, was it right, how good"),
        ),
    ),
)
