"""Is it ready? What the tests show together, and what the compost may be used for meanwhile."""

from typing import Any

import pytest
from django.utils import timezone

from heaps.ready_shown import readiness_of
from heaps.science.readiness import Stage, Trial, Use
from tests.heaps.views.conftest import A_BUCKET, text_of

pytestmark = pytest.mark.django_db


def verdicts(keep, bay, ago, **tests: dict[str, Any]) -> None:
    for test, details in tests.items():
        keep("verdict", bay, ago(3), test=test, ready="ready", **details)


def test_without_a_test_it_stays_in_the_heap(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(200), feedstock="grass-fresh", **A_BUCKET)
    assert readiness_of(bay, timezone.now()).together.use is Use.NONE
    told = text_of(client_of(member).get(f"/heaps/{bay.uid}/ready/"))
    assert "For now: Leave it in the heap." in told and told.count("Not tried yet.") == len(Trial)
    for class_ in ("dark, with bits in it: young", "like soil: finished", "ammonia: raw", "Class V: up to 10 °C"):
        assert class_ in told


def test_the_tests_together_allow_a_use(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(200), feedstock="grass-fresh", **A_BUCKET)
    verdicts(keep, bay, ago, look={"look": "crumbly"}, smell={"smell": "woodland"})
    assert readiness_of(bay, timezone.now()).together.use is Use.MULCH
    keep("verdict", bay, ago(2), test="flask", ready="ready", rise_tenths_k=100)
    assert readiness_of(bay, timezone.now()).together.use is Use.DIG_IN
    keep("reading", bay, ago(40), temp_tenths_c=150, air_tenths_c=120)
    seeds = {"sown": 20, "came_up": 18, "control_sown": 20, "control_up": 20}
    keep("verdict", bay, ago(2), test="cress", ready="ready", **seeds)
    found = readiness_of(bay, timezone.now())
    assert (found.together.use, found.together.agree, found.rested_days) == (Use.POTS, True, 40)
    told = text_of(client_of(member).get(f"/heaps/{bay.uid}/ready/"))
    assert "In pots, too" in told and "18 of 20 came up, 20 of 20 in the other pot" in told
    assert "The tests agree." in told


def test_no_test_is_talked_down_by_another(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(200), feedstock="grass-fresh", **A_BUCKET)
    verdicts(keep, bay, ago, look={"look": "earthy"}, flask={"rise_tenths_k": 350})
    found = readiness_of(bay, timezone.now()).together
    assert (found.use, found.agree, found.least) == (Use.MULCH_APART, False, (Trial.FLASK,))
    assert "The one that holds back counts: The flask." in text_of(client_of(member).get(f"/heaps/{bay.uid}/ready/"))


def test_a_bare_not_yet_holds_back_and_a_bare_ready_is_no_class(bay, keep, ago) -> None:
    keep("dropoff", bay, ago(200), feedstock="grass-fresh", **A_BUCKET)
    keep("verdict", bay, ago(3), test="look", ready="ready")
    assert readiness_of(bay, timezone.now()).together.use is Use.NONE
    keep("verdict", bay, ago(2), test="smell", ready="not yet")
    assert readiness_of(bay, timezone.now()).together.use is Use.MULCH_APART


def test_no_new_heat_is_read_from_the_log_of_a_turned_and_wetted_heap(bay, keep, ago) -> None:
    keep("dropoff", bay, ago(200), feedstock="grass-fresh", **A_BUCKET)
    keep("turn", bay, ago(12), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    keep("reading", bay, ago(8), temp_tenths_c=180, air_tenths_c=100)

    def shown():
        return next(one for one in readiness_of(bay, timezone.now()).tests if one.trial is Trial.NO_REHEATING)

    assert shown().stage is None  # dry: it tells nothing
    keep("water", bay, ago(12), volume_ml=20_000)
    assert (shown().stage, shown().from_log) == (Stage.FINISHED, True)
    keep("reading", bay, ago(7), temp_tenths_c=250, air_tenths_c=100)
    assert shown().stage is Stage.MATURE  # 15 K: class IV


def test_a_new_load_makes_old_tests_say_nothing(bay, keep, ago) -> None:
    keep("dropoff", bay, ago(200), feedstock="grass-fresh", **A_BUCKET)
    verdicts(keep, bay, ago, look={"look": "earthy"})
    keep("dropoff", bay, ago(1), feedstock="grass-fresh", **A_BUCKET)
    assert readiness_of(bay, timezone.now()).together.use is Use.NONE


def test_where_nobody_read_the_air_the_usual_weather_of_the_site_stands_in(bay, keep, ago) -> None:
    keep("dropoff", bay, ago(200), feedstock="grass-fresh", **A_BUCKET)
    keep("reading", bay, ago(40), temp_tenths_c=380)
    assert readiness_of(bay, timezone.now()).rested_days is None
    bay.site.climates.create(months=[[350, 0]] * 12, source="a hot house", decided_at=timezone.now())
    assert readiness_of(bay, timezone.now()).rested_days == 40
