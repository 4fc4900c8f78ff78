"""What is one tap behind a heap's page: signs and heat."""

import html
import json
import re

import pytest
from django.utils import timezone

from heaps.advice_words import CAUSES, DEEDS, FIGURES, HOW, SIGN_WORDS, STAGES, TRIALS, USES
from heaps.heat_shown import heat_of
from heaps.rule_words import WHOSE, asks, lacks, one_probe, time
from heaps.science.diagnosis import GAUGES
from heaps.science.heat_rules import HEAT_RULES
from heaps.science.readiness import Stage, Trial, Use
from heaps.science.sanitation import AtPlace
from heaps.science.signs import SIGNS, Cause, Do
from heaps.signs_seen import ALSO, signs_of
from tests.heaps.views.conftest import A_BUCKET, text_of

pytestmark = pytest.mark.django_db


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


def test_an_empty_bay_is_said_to_be_and_a_load_that_waits_on_a_phone_keeps_its_deeds(
    bay, keep, ago, client_of, member
) -> None:
    browser, says = client_of(member), "As far as this page knows, nothing lies here."
    page = browser.get(f"/heaps/{bay.uid}/signs/").content.decode()
    assert says in page and "data-keep=" in page
    keep("dropoff", bay, ago(20), feedstock="peelings", **A_BUCKET)
    assert says not in browser.get(f"/heaps/{bay.uid}/signs/").content.decode()


def test_a_turn_into_another_bay_is_told_apart_from_a_tap(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(20), feedstock="peelings", **A_BUCKET)
    page = client_of(member).get(f"/heaps/{bay.uid}/signs/").content.decode()
    for sign in re.findall(r'<details class="sign".+?</details>', page, re.S):
        assert ('"kind": "turn"' in html.unescape(sign)) == ("The tap keeps a turn within this bay." in sign)
        assert ("Turned, wetted and split" in sign) == ("Into which bay did the other part go?" in sign)


def test_a_closed_bin_has_its_lid_and_a_caution_and_an_unturned_heap_was_never_turned(
    bay, keep, ago, client_of, member
) -> None:
    bay.kind = "lidded"
    bay.save()
    keep("dropoff", bay, ago(20), feedstock="peelings", **A_BUCKET)
    browser = client_of(member)
    told = text_of(browser.get(f"/heaps/{bay.uid}/signs/"))
    assert "No lid or sheet on it : less likely here. It is covered." in told
    assert "Not turned for 20 days." in told and "Last turned" not in told
    for name in ("", "signs/", "heat/", "ready/", "fit/", "nitrogen/", "hot/"):
        assert "Never climb into a closed bin" in text_of(browser.get(f"/heaps/{bay.uid}/{name}")), name
    keep("cover", bay, ago(1), way="off")
    assert "No lid or sheet on it : likely here. It is not covered." in text_of(browser.get(f"/heaps/{bay.uid}/signs/"))


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
