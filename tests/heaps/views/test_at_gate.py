"""What a coordinator says at the gate: kept, taken back, and given back with what was typed when it cannot be kept."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from heaps.models import Bay, Site


@pytest.fixture
def browser(client_of, steward) -> Client:
    return client_of(steward)


def send(browser: Client, site: Site, says: str, **said: str):
    return browser.post(reverse("heaps:at_gate", args=[site.uid]), {"says": says, **said})


def test_a_rule_is_made_changed_and_taken_back(browser: Client, site: Site) -> None:
    assert send(browser, site, "rule", feedstock="hay", acceptance="treat first", reason="seeds").status_code == 302
    assert send(browser, site, "rule", feedstock="hay", acceptance="never", reason="weeds").status_code == 302
    rule = site.gate_rules.get()
    assert (rule.acceptance, rule.reason) == ("never", "weeds")
    assert "Hay, dry: ✕ Never" in browser.get(reverse("heaps:at_gate", args=[site.uid])).content.decode()
    send(browser, site, "rule away", which="hay")
    assert not site.gate_rules.exists()


@pytest.mark.parametrize(
    "said, says",
    [
        ({"feedstock": "hay", "acceptance": "with care", "reason": "seeds"}, "A site can only be stricter"),
        ({"feedstock": "meat-fish", "acceptance": "with care", "reason": "seeds"}, "Choose one from the list."),
        ({"feedstock": "hay", "acceptance": "yes", "reason": "seeds"}, "Choose one from the list."),
        ({"feedstock": "hay", "acceptance": "never", "reason": ""}, "Why is missing"),
        ({"feedstock": "", "acceptance": "", "reason": "seeds"}, "Choose one from the list."),
    ],
)
def test_a_rule_that_cannot_be_kept_comes_back(browser: Client, site: Site, said: dict[str, str], says: str) -> None:
    answer = send(browser, site, "rule", **said)
    page = answer.content.decode()
    assert answer.status_code == 200 and says in page
    assert f'value="{said["reason"]}"' in page or not said["reason"]
    assert not site.gate_rules.exists()


def test_a_pause_is_made_and_ended(browser: Client, site: Site) -> None:
    today = timezone.now().date()
    week = str(today + timedelta(days=7))
    assert send(browser, site, "pause", what="green", until=week, reason="wet").status_code == 302
    assert site.pauses.get().reason == "wet"
    send(browser, site, "pause away", which="green")
    assert not site.pauses.exists()
    for odd in (str(today - timedelta(days=2)), str(today + timedelta(days=400)), "soon", ""):
        answer = send(browser, site, "pause", what="green", until=odd, reason="wet")
        assert answer.status_code == 200 and 'id="pause_until_error"' in answer.content.decode()
    assert not site.pauses.exists()


def test_a_bay_is_marked_full_and_has_room_again(browser: Client, bay: Bay, other_site: Site) -> None:
    strange = other_site.bays.get()
    for which in (bay.uid, strange.uid):
        send(browser, bay.site, "full", which=str(which))
    assert [Bay.objects.get(pk=one.pk).is_full for one in (bay, strange)] == [True, False]
    send(browser, bay.site, "room", which=str(bay.uid))
    assert not Bay.objects.get(pk=bay.pk).is_full


def test_opening_times_are_lines(browser: Client, site: Site) -> None:
    send(browser, site, "times", open_times=" Saturday 10 to 12 \r\n\r\nSunday 2 to 4\r\n")
    site.refresh_from_db()
    assert site.open_times == "Saturday 10 to 12\nSunday 2 to 4"
    answer = send(browser, site, "times", open_times="\n".join("abcdefgh"))
    assert "At most 7 lines" in answer.content.decode()
    assert "\u202e" not in site.open_times and send(browser, site, "times", open_times="a\u202eb").status_code == 200
    site.refresh_from_db()
    assert site.open_times == "Saturday 10 to 12\nSunday 2 to 4"


def test_what_no_form_says_changes_nothing(browser: Client, site: Site) -> None:
    assert send(browser, site, "open sesame").status_code == 200
