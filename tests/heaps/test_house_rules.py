"""A site's rules are stricter than the list or they say nothing; what breaks one is asked about, not refused."""

from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from heaps import gate
from heaps.house_rules import accepted_as, against_the_rules, notices, stricter
from heaps.models import Bay, Entry, GateRule, Pause, Question, Site, known_materials
from heaps.science.feedstocks import FEEDSTOCKS, STRICTNESS, strictness
from heaps.science.materials import PUBLISHED
from heaps.terms_forms import RuleForm

A_BUCKET: dict[str, Any] = {"half_containers": 2, "container_ml": 10_000}


@given(st.sampled_from(sorted(FEEDSTOCKS)), st.sampled_from([*STRICTNESS, "", "odd"]))
def test_no_rule_loosens_what_the_list_says(key: str, said: str) -> None:
    rule = GateRule(feedstock=key, acceptance=said, reason="because")
    word, _why = accepted_as(key, [rule], PUBLISHED)
    listed = FEEDSTOCKS[key].acceptance
    assert strictness(word) >= strictness(listed)
    assert (word != listed) == (key in stricter([rule], PUBLISHED))


@pytest.mark.django_db
@given(st.sampled_from(sorted(FEEDSTOCKS)), st.sampled_from(STRICTNESS))
def test_the_row_itself_refuses_to_be_looser(key: str, said: str) -> None:
    rule = GateRule(feedstock=key, acceptance=said, reason="because")
    if strictness(said) > strictness(FEEDSTOCKS[key].acceptance):
        rule.clean()
    else:
        with pytest.raises(ValidationError, match="only be stricter"):
            rule.clean()


def test_a_material_nobody_knows_has_no_rule(site: Site) -> None:
    with pytest.raises(ValidationError, match="not in the list"):
        GateRule(site=site, feedstock="moon dust", acceptance="never", reason="far").clean()
    assert stricter([GateRule(feedstock="moon dust", acceptance="never")], PUBLISHED) == {}


@pytest.mark.parametrize("key", [key for key, one in FEEDSTOCKS.items() if one.acceptance == "never"])
@pytest.mark.django_db
def test_the_form_takes_no_rule_about_what_never_goes_in(key: str) -> None:
    for said in STRICTNESS:
        assert not RuleForm({"feedstock": key, "acceptance": said, "reason": "please"}).is_valid()


def test_a_rule_reaches_the_phone_and_a_looser_row_does_not(site: Site, at) -> None:
    site.gate_rules.create(feedstock="coffee", acceptance="never", reason="rats", since=at(5, 1))
    site.gate_rules.create(feedstock="meat-fish", acceptance="with care", reason="forged", since=at(5, 1))
    (here,) = gate.ground(at(5, 2))["sites"]
    assert here["rules"] == {"coffee": ("never", "rats")}


def test_the_phone_says_what_is_not_wanted_and_when_it_is_open(site: Site, at) -> None:
    site.open_times = "Saturday 10 to 12\nSunday 2 to 4"
    site.save()
    site.pauses.create(what="green", until=date(2026, 5, 2), reason="It is wet.")
    here = [gate.ground(at(5, day))["sites"][0] for day in (2, 3)]
    assert [one["says"] for one in here] == ["No more greens until Saturday 2 May. It is wet.", ""]
    assert {one["open"] for one in here} == {"Saturday 10 to 12 · Sunday 2 to 4"}


def test_a_pause_lasts_through_its_last_day() -> None:
    pause = Pause(what="everything", until=date(2026, 5, 2), reason="Snow.")
    assert notices([pause], date(2026, 5, 2)) == ["Closed: nothing at all until Saturday 2 May. Snow."]
    assert notices([pause], date(2026, 5, 3)) == []


def test_a_full_bay_is_not_offered(site: Site, bay: Bay, second_bay: Bay, at) -> None:
    bay.is_full = True
    bay.save()
    (here,) = gate.ground(at(5, 2))["sites"]
    assert here["fed"] == str(second_bay.uid)
    assert [one["stage"] for one in here["bays"]] == ["full", "empty", "empty"]


@pytest.mark.ledger
def test_a_load_against_a_rule_is_taken_and_asked_about(site: Site, bay: Bay, keep, at) -> None:
    site.gate_rules.create(feedstock="coffee", acceptance="never", reason="rats", since=at(5, 2))
    site.gate_rules.create(feedstock="hay", acceptance="treat first", reason="seeds", since=at(5, 2))
    keep("dropoff", bay, at(5, 1), feedstock="coffee", arrives=at(5, 3), **A_BUCKET)
    keep("dropoff", bay, at(5, 3), feedstock="hay", **A_BUCKET)
    assert not Question.objects.filter(why="rule").exists()
    late = keep("dropoff", bay, at(5, 3), feedstock="coffee", **A_BUCKET)
    (asked,) = Question.objects.filter(why="rule")
    assert str(asked.entry.uid) == late.uid
    assert "does not take this" in asked.says
    keep("correction", None, at(5, 4), corrects=late.uid, says="withdraw")
    assert Question.objects.get(pk=asked.pk).settled_at


def test_a_rule_holds_at_its_own_site_only(site: Site, other_site: Site, keep, at) -> None:
    site.gate_rules.create(feedstock="coffee", acceptance="never", reason="rats", since=at(5, 1))
    keep("dropoff", other_site.bays.get(), at(5, 3), feedstock="coffee", **A_BUCKET)
    assert not Question.objects.exists()
    keep("dropoff", site.bays.first(), at(5, 3), feedstock="coffee", **A_BUCKET)
    together = list(Entry.objects.order_by("pk"))
    assert [one.site_id for one in against_the_rules(together, known_materials())] == [site.pk], (
        "handed in at once by one phone"
    )
