"""Limits: counted where somebody is, exact when many try at once, and never against the rightful person."""

import threading
from datetime import timedelta

import pytest
from django.db import connections
from django.http import HttpRequest
from django.test import RequestFactory
from django.utils import timezone
from pytest_django import Settings

from members import limits
from members.models import Tries

pytestmark = [pytest.mark.ledger, pytest.mark.django_db]

NOW = timezone.now()


def at(address: str, **more: str) -> HttpRequest:
    return RequestFactory().get("/", REMOTE_ADDR=address, **more)


def wrong_words(address: str, times: int) -> int:
    """How many of so many tries were looked at."""
    return sum(limits.words_try(at(address), NOW).again_at is None for _try in range(times))


def wrong_passwords(address: str, name: str, times: int) -> int:
    return sum(limits.password_try(at(address), name, NOW).again_at is None for _try in range(times))


def test_twenty_wrong_words_an_hour_from_one_address() -> None:
    assert wrong_words("192.0.2.1", 200) == 20
    assert wrong_words("192.0.2.2", 1) == 1
    refused = limits.words_try(at("192.0.2.1"), NOW)
    assert refused.again_at == NOW + timedelta(hours=1)
    assert limits.words_try(at("192.0.2.1"), NOW + timedelta(minutes=59)).again_at
    assert limits.words_try(at("192.0.2.1"), NOW + timedelta(hours=1)).again_at is None


def test_a_clock_that_was_years_ahead_locks_nobody_out_when_it_is_right_again() -> None:
    for _try in range(30):
        limits.words_try(at("192.0.2.1"), NOW + timedelta(days=3650))
    assert wrong_words("192.0.2.1", 30) == 20


def test_right_ones_do_not_count() -> None:
    for _try in range(100):
        a_try = limits.words_try(at("192.0.2.1"), NOW)
        assert a_try.again_at is None
        a_try.was_right()
    assert Tries.objects.get().count == 0


def test_hammering_a_name_from_elsewhere_does_not_stop_its_person() -> None:
    assert wrong_passwords("192.0.2.66", "ada", 60) == limits.WRONG_FOR_ONE_NAME
    assert wrong_passwords("192.0.2.1", "ada", 5) == 5


def test_from_a_hundred_addresses_a_name_is_guessed_slowly_and_its_person_keeps_a_few() -> None:
    looked_at = sum(wrong_passwords(f"192.0.2.{place}", "ada", 5) for place in range(100))
    assert limits.MANY_FOR_ONE_NAME <= looked_at <= limits.MANY_FOR_ONE_NAME + 100 * limits.FEW_FOR_ONE_NAME
    assert wrong_passwords("198.51.100.7", "ada", 10) == limits.FEW_FOR_ONE_NAME
    assert wrong_words("198.51.100.7", 5) == 5


def test_sixty_wrong_passwords_an_hour_from_one_address() -> None:
    assert sum(wrong_passwords("192.0.2.1", f"name-{place}", 10) for place in range(10)) == limits.WRONG_PASSWORDS
    assert wrong_passwords("192.0.2.2", "name-1", 1) == 1


def test_nothing_that_tells_of_anybody_is_kept() -> None:
    limits.password_try(at("192.0.2.1"), "ada", NOW)
    kept = " ".join(Tries.objects.values_list("of", flat=True))
    assert "ada" not in kept and "192" not in kept
    assert all(len(of) == 64 for of in kept.split())


def test_without_the_host_s_key_the_digests_cannot_be_made(settings: Settings) -> None:
    wrong_words("192.0.2.1", 1)
    settings.SECRET_KEY = "another key of fifty characters or more than that"
    wrong_words("192.0.2.1", 1)
    assert Tries.objects.count() == 2


def test_what_is_over_is_forgotten() -> None:
    wrong_words("192.0.2.1", 1)
    limits.delete_over(NOW + timedelta(minutes=59))
    assert Tries.objects.exists()
    limits.delete_over(NOW + timedelta(hours=1))
    assert not Tries.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_many_at_once_are_counted_exactly() -> None:
    looked_at: list[int] = []

    def guess() -> None:
        try:
            looked_at.append(wrong_words("192.0.2.1", 3))
        finally:
            connections.close_all()

    threads = [threading.Thread(target=guess) for _one in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (len(looked_at), sum(looked_at), Tries.objects.get().count) == (10, 20, 20)


@pytest.mark.parametrize(
    ("proxies", "forwarded", "found"),
    [
        (0, "", "192.0.2.9"),
        (0, "203.0.113.5", "192.0.2.9"),  # nobody of ours wrote it
        (1, "203.0.113.5", "203.0.113.5"),
        (1, "1.2.3.4, 203.0.113.5", "203.0.113.5"),  # the visitor claimed the first
        (1, "1.2.3.4, nonsense", "192.0.2.9"),
        (1, "", "192.0.2.9"),
        (2, "1.2.3.4, 203.0.113.5, 10.0.0.1", "203.0.113.5"),
        (2, "203.0.113.5", "192.0.2.9"),
    ],
)
def test_what_a_visitor_claims_of_their_address_is_never_believed(
    settings: Settings, proxies: int, forwarded: str, found: str
) -> None:
    settings.TRUSTED_PROXIES = proxies
    more = {"HTTP_X_FORWARDED_FOR": forwarded} if forwarded else {}
    assert limits.address_of(at("192.0.2.9", **more)) == found


def test_one_household_has_one_address_of_the_new_kind() -> None:
    assert limits.address_of(at("2001:db8:1:2:3::4")) == limits.address_of(at("2001:db8:1:2:ffff::1"))
    assert limits.address_of(at("2001:db8:1:2::1")) != limits.address_of(at("2001:db8:1:3::1"))
    assert limits.address_of(at("::ffff:192.0.2.9")) == "192.0.2.9"
    assert limits.address_of(at("")) == ""


def test_a_name_is_one_name_however_it_is_typed() -> None:
    spellings = ("ada", "ADA", " ada ", "\uff41da", "a\uff44a", "ad\uff41", "\uff21\uff24\uff21")  # wide letters, too
    assert sum(wrong_passwords("192.0.2.1", one, 10) for one in spellings) == limits.WRONG_FOR_ONE_NAME
