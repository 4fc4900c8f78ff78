"""What is one tap behind a heap's page: signs, heat, readiness; the leaf clock, the tub, bags and their labels."""

import html
import json
import re
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from heaps.advice_words import CAUSES, DEEDS, FIGURES, HOW, SIGN_WORDS, STAGES, TRIALS, USES
from heaps.heat_shown import heat_of
from heaps.ready_shown import readiness_of
from heaps.rule_words import WHOSE, asks, lacks, one_probe, time
from heaps.science.diagnosis import GAUGES
from heaps.science.heat_rules import HEAT_RULES
from heaps.science.readiness import Stage, Trial, Use
from heaps.science.sanitation import AtPlace
from heaps.science.signs import SIGNS, Cause, Do
from heaps.signs_seen import ALSO, signs_of

pytestmark = pytest.mark.django_db
A_BUCKET = {"half_containers": 2, "container_ml": 10_000}


@pytest.fixture
def ago():
    now = timezone.now().replace(microsecond=0)
    return lambda days=0, hours=0: now - timedelta(days=days, hours=hours)


def text_of(answer: Any) -> str:
    assert answer.status_code == 200
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def test_every_key_of_the_core_has_its_words() -> None:
    assert CAUSES.keys() == set(Cause) and DEEDS.keys() == set(Do) and SIGN_WORDS.keys() == SIGNS.keys()
    assert FIGURES.keys() == GAUGES.keys()
    assert TRIALS.keys() == HOW.keys() == set(Trial) and STAGES.keys() == set(Stage) and USES.keys() == set(Use)
    assert WHOSE.keys() == {rule.key for rule in HEAT_RULES}


def test_signs_are_ranked_by_the_heap_s_own_numbers(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(20), feedstock="grass-fresh", half_containers=20, container_ml=40_000)
    found = signs_of(bay, timezone.now()).diagnoses["wet"]
    assert found.causes[0].cause is Cause.TOO_GREEN
    told = text_of(client_of(member).get(f"/heaps/{bay.uid}/signs/"))
    assert re.search(r"Too many greens : likely here\. Its C:N is \d+\.", told)
    for word in ("Ants", "Rats", "House flies or maggots", "Plants turn yellow", "Too dry : less likely here"):
        assert word in told


def test_a_sign_seen_is_looked_at_again_until_it_is_gone(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(20), feedstock="peelings", **A_BUCKET)
    keep("reading", bay, ago(10), signs=["flies"])
    now = timezone.now()
    (one,) = signs_of(bay, now).again
    assert (one.word, one.late, (one.by - one.seen_on).days, set(one.keys)) == (
        "flies", True, 7, {"flies", "fruit-flies"},
    )  # fmt: skip
    browser = client_of(member)
    for page in (f"/heaps/{bay.uid}/", "/heaps/", f"/heaps/{bay.uid}/signs/"):
        assert re.search(r"! Seen on .+: flies\. Look again by ", text_of(browser.get(page))), page
    keep("sign", bay, ago(1), sign="fruit-flies", says="done", did="bury the peelings")
    (one,) = signs_of(bay, now).again
    assert not one.late
    keep("sign", bay, ago(0), sign="flies", says="gone")
    assert signs_of(bay, now).again == ()
    assert "Look again by" not in text_of(browser.get("/heaps/"))


def test_what_a_tap_keeps_is_taken_by_the_door(bay, keep, ago, client_of, member) -> None:
    """Every button of the page, as the phone would send it."""
    keep("dropoff", bay, ago(20), feedstock="peelings", **A_BUCKET)
    page = client_of(member).get(f"/heaps/{bay.uid}/signs/").content.decode()
    taps = [json.loads(html.unescape(one)) for one in re.findall(r'data-keep="([^"]+)"', page)]
    assert len(taps) == sum(2 + len(sign.do) for sign in SIGNS.values())
    assert {one["kind"] for tap in taps for one in tap} == {"sign", *ALSO.values()}
    for tap in taps:
        for one in tap:
            keep(one["kind"], bay, ago(1), by=member, **one["details"])


def test_turning_carries_its_caution_where_it_is_offered(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(20), feedstock="peelings", **A_BUCKET)
    page = client_of(member).get(f"/heaps/{bay.uid}/signs/").content.decode()
    for sign in re.findall(r'<details class="sign".+?</details>', page, re.S):
        if '"kind": "turn"' in html.unescape(sign):
            assert "stand upwind" in sign


# --- hot enough? ------------------------------------------------------------------------------------------------


def warm(keep, bay, ago, days, temp_c=60, place="core", every_h=24):
    for hours in range(0, days * 24 + 1, every_h):
        keep("reading", bay, ago(30, -hours), temp_tenths_c=temp_c * 10, place=place)


def test_what_the_log_meets_and_what_is_missing(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(31), feedstock="grass-fresh", **A_BUCKET)
    warm(keep, bay, ago, 7)
    heat = heat_of(bay, timezone.now())
    assert {one.rule.key for one in heat.met} == {
        "eu product, 60 C",
        "us significant reduction",
        "seed of 4 of 6 weeds",
    }
    missing = {one.rule.key: one.places["core"] for one in heat.missing}
    assert missing["german, open, 55 C"].missing_hours == 7 * 24
    assert missing["manitoba, windrow"].missing_turns == 5
    told = text_of(client_of(member).get(f"/heaps/{bay.uid}/heat/"))
    assert "EU rule for goods on sale, 60 °C : 60 °C or more for 7 days. core: 7 days." in told
    assert "Missing: 8 days, 5 turns" in told
    assert "UK guideline for plants (PAS 100) : 65 °C" not in told.split("do not apply")[0]
    assert "One probe cannot speak for a heap. In one big heap 15 probes" in told and "Kamp" in told
    assert "safe" not in told.lower()


def test_a_place_that_stayed_cool_is_enough_to_miss_a_rule(bay, keep, ago) -> None:
    keep("dropoff", bay, ago(31), feedstock="grass-fresh", **A_BUCKET)
    warm(keep, bay, ago, 7)
    keep("reading", bay, ago(25), temp_tenths_c=300, place="edge")
    assert not heat_of(bay, timezone.now()).met


def test_what_came_in_later_was_not_there_before(bay, second_bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(31), feedstock="grass-fresh", **A_BUCKET)
    warm(keep, bay, ago, 7)
    keep("dropoff", second_bay, ago(22), feedstock="grass-fresh", **A_BUCKET)
    keep("turn", second_bay, ago(20), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    heat = heat_of(second_bay, timezone.now())
    assert (heat.readings, heat.met, heat.since) == (0, (), ago(20))
    told = text_of(client_of(member).get(f"/heaps/{second_bay.uid}/heat/"))
    assert "there is no reading since the last load" in told


def test_a_heap_moved_alone_keeps_its_log(bay, second_bay, keep, ago) -> None:
    keep("dropoff", bay, ago(31), feedstock="grass-fresh", **A_BUCKET)
    warm(keep, bay, ago, 7)
    keep("turn", second_bay, ago(20), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    assert {one.rule.key for one in heat_of(second_bay, timezone.now()).met} >= {"eu product, 60 C"}


def test_rules_for_closed_plants_and_flasks_are_never_met(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(31), feedstock="grass-fresh", **A_BUCKET)
    warm(keep, bay, ago, 29, temp_c=72)
    heat = heat_of(bay, timezone.now())
    assert {one.rule.key for one in heat.not_for_open_bay} == {one.key for one in HEAT_RULES if not one.open_bay}
    assert all(one.rule.open_bay for one in heat.met)
    told = text_of(client_of(member).get(f"/heaps/{bay.uid}/heat/"))
    assert told.count("Does not apply to an open bay.") == len(heat.not_for_open_bay)


def test_rules_read_as_they_are() -> None:
    rules = {rule.key: rule for rule in HEAT_RULES}
    assert asks(rules["us significant reduction"]) == "40 °C or more for 5 days, in it over 55 °C for 4 hours in all"
    assert asks(rules["us organic, windrow"]) == "55 to 77 °C for 15 days, 5 turns, C:N 25 to 40 at the start"
    assert lacks(rules["manitoba, windrow"], AtPlace(False, 24, 4, 336, 1)) == "14 days, 1 turn"
    assert time(1) == "1 hour" and time(36) == "1.5 days"
    assert one_probe() == {"probes": 15, "hot": 3, "least": 114, "most": 179, "cold": 7}


# --- is it ready? -----------------------------------------------------------------------------------------------


def verdicts(keep, bay, ago, **tests: dict[str, Any]) -> None:
    for test, details in tests.items():
        keep("verdict", bay, ago(3), test=test, ready="ready", **details)


def test_without_a_test_it_stays_in_the_heap(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(200), feedstock="grass-fresh", **A_BUCKET)
    assert readiness_of(bay, timezone.now()).together.use is Use.NONE
    told = text_of(client_of(member).get(f"/heaps/{bay.uid}/ready/"))
    assert "For now: Leave it in the heap." in told and told.count("Not tried yet.") == len(Trial)


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


# --- leaves, tub, bags ------------------------------------------------------------------------------------------


def test_a_leaf_bin_has_its_clock_and_sources_that_differ(site, keep, ago, client_of, member) -> None:
    bin_ = site.bays.get(name="Leaf bin")
    keep("dropoff", bin_, ago(30), feedstock="leaves-thick", half_containers=8, container_ml=80_000)
    keep("dropoff", bin_, ago(30), feedstock="leaves-quick", half_containers=8, container_ml=80_000)
    told = text_of(client_of(member).get(f"/heaps/{bin_.uid}/"))
    assert "The leaf clock" in told and "(the slowest: it decides)" in told
    assert "Sources differ. Out of doors the maples" in told and "If they were shredded: a mulch from" in told
    assert "That is as it should be in their second year." in told
    keep("reading", bin_, ago(1), squeeze="dust")
    told = text_of(client_of(member).get(f"/heaps/{bin_.uid}/"))
    assert "Wet it now: dry leaves stand still." in told and "A mulch from" not in told


def test_another_bay_has_no_leaf_clock(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(30), feedstock="leaves-oak", half_containers=8, container_ml=80_000)
    assert "The leaf clock" not in text_of(client_of(member).get(f"/heaps/{bay.uid}/"))


def test_the_tub_says_what_may_come_out_when(site, keep, at, client_of, member, monkeypatch) -> None:
    keep("soak", None, at(5, 1), weed="couch", way="in", half_containers=2, container_ml=30_000)
    keep("soak", None, at(5, 1), weed="dock", way="in", half_containers=2, container_ml=30_000)
    monkeypatch.setattr(timezone, "now", lambda: at(5, 25))
    told = text_of(client_of(member).get("/tub/"))
    assert "Look at it today: some may come out." in told
    assert "Couch grass , 30 litres, in since 1 May 2026. May come out, if all is soft and brown." in told
    assert "Dock , 30 litres, in since 1 May 2026. Look on 12 Jun 2026, not before." in told
    assert "Seed may live: tip it into the middle of a hot heap." in told and "Never in the tub" in told
    keep("soak", None, at(5, 26), weed="couch", way="out", half_containers=2, container_ml=30_000)
    monkeypatch.setattr(timezone, "now", lambda: at(5, 27))
    assert "Couch grass , 30 litres" not in text_of(client_of(member).get("/tub/"))


HARVEST = {"half_bags": 12, "bag_ml": 40_000, "per_cent": 100, "sieved": "sieved"}


def test_bags_in_store_and_a_label_for_each_batch(site, bay, keep, at, client_of, member) -> None:
    keep("dropoff", bay, at(2, 1), feedstock="horse-manure-straw", **A_BUCKET)
    keep("dropoff", bay, at(2, 3), feedstock="coffee", **A_BUCKET)
    made = keep("harvest", bay, at(5, 1), **HARVEST)
    keep("dropoff", bay, at(5, 2), feedstock="cardboard", **A_BUCKET)
    keep("collection", None, at(5, 3), half_bags=5, bag_ml=40_000)
    browser = client_of(member)
    page = browser.get("/collect/")
    assert "3½ bags of 40 litres" in text_of(page) and f"/bags/{made.uid}/label/" in page.content.decode()
    told = text_of(browser.get(f"/bags/{made.uid}/label/"))
    assert "Compost, sieved, 40 litres" in told and "Begun 1 Feb 2026, last load 3 Feb 2026" in told
    assert "What went in: Horse manure" in told and "Coffee grounds" in told and "ardboard" not in told
    assert "Sow a few beans in it first" in told and "not in pots" in told and "Gloves on." in told
    keep("correction", None, at(5, 4), corrects=made.uid, says="withdraw")
    assert browser.get(f"/bags/{made.uid}/label/").status_code == 404


def test_a_label_names_what_came_by_turns_and_that_it_was_found_ready(bay, second_bay, keep, at, client_of, member):
    keep("dropoff", bay, at(2, 1), feedstock="coffee", **A_BUCKET)
    keep("turn", second_bay, at(3, 1), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    keep("verdict", second_bay, at(4, 1), test="look", ready="ready", look="earthy")
    made = keep("harvest", second_bay, at(5, 1), **HARVEST)
    told = text_of(client_of(member).get(f"/bags/{made.uid}/label/"))
    assert "Begun 1 Feb 2026" in told and "Coffee grounds" in told and "not in pots" not in told


def test_a_label_of_something_else_is_not_there(bay, keep, at, client_of, member) -> None:
    load = keep("dropoff", bay, at(2, 1), feedstock="coffee", **A_BUCKET)
    assert client_of(member).get(f"/bags/{load.uid}/label/").status_code == 404
