"""How often somebody may try to get in: counted by where they are, so that nobody can lock another person out."""

import hmac
import ipaddress
import unicodedata
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from django.conf import settings
from django.db import transaction
from django.db.models import F
from django.http import HttpRequest

from members.access import CLOCKS_DIFFER_SECONDS
from members.models import Tries

HOUR = timedelta(hours=1)
CLOCKS_DIFFER = timedelta(seconds=CLOCKS_DIFFER_SECONDS)
WRONG_WORDS = 20  # an hour from one address: words that do not fit
WRONG_PASSWORDS = 60  # an hour from one address, whatever the name
WRONG_FOR_ONE_NAME = 20  # an hour from one address
#: Once a name has had that many wrong tries within the hour from everywhere together, each address has only a few
#: left for it. Whoever guesses from many addresses is slowed down; the person the name belongs to still has a few
#: at their own, and words and passkeys ask for no name at all.
MANY_FOR_ONE_NAME = 100
FEW_FOR_ONE_NAME = 3


@dataclass(frozen=True)
class Try:
    """A try, counted as a wrong one until it `was_right`; or no try at all before `again_at`."""

    counted: tuple[str, ...] = ()
    again_at: datetime | None = None

    def was_right(self) -> None:
        """Take it out of the count again."""
        Tries.objects.filter(of__in=self.counted, count__gt=0).update(count=F("count") - 1)


def words_try(request: HttpRequest, now: datetime) -> Try:
    """A try with words."""
    here = _digest("words", address_of(request))
    again_at = _count(here, WRONG_WORDS, now)
    return Try(again_at=again_at) if again_at else Try((here,))


def password_try(request: HttpRequest, name: str, now: datetime) -> Try:
    """A try with a sign-in name and a password. Whether the name is anybody's makes no difference."""
    address, name = address_of(request), signs_in_as(name)
    everywhere, here = _digest("name", name), _digest("address", address)
    pair = _digest("name at address", name, address)
    most = FEW_FOR_ONE_NAME if _so_far(everywhere, now) >= MANY_FOR_ONE_NAME else WRONG_FOR_ONE_NAME
    if again_at := _count(pair, most, now):
        return Try(again_at=again_at)
    if again_at := _count(here, WRONG_PASSWORDS, now):
        Try((pair,)).was_right()  # it was not even looked at
        return Try(again_at=again_at)
    _count(everywhere, None, now)
    return Try((pair, here, everywhere))


def signs_in_as(typed: str) -> str:
    """A sign-in name as it is looked up, however it was typed: wide letters and large ones are the same name."""
    return unicodedata.normalize("NFKC", typed).strip().lower()


def address_of(request: HttpRequest) -> str:
    """Where a request comes from; of IPv6, the network that one household has.

    Each proxy adds whom it heard from at the right end of X-Forwarded-For. What stands further left than our own
    proxies wrote is whatever the visitor claims, so it is never read.
    """
    direct = str(request.META.get("REMOTE_ADDR", ""))
    claimed = [one.strip() for one in str(request.META.get("HTTP_X_FORWARDED_FOR", "")).split(",")]
    ours: int = settings.TRUSTED_PROXIES
    if 0 < ours <= len(claimed):
        return _network(claimed[-ours]) or _network(direct)
    return _network(direct)


def delete_over(now: datetime) -> None:
    """Forget what was counted more than an hour ago."""
    Tries.objects.filter(since__lte=now - HOUR).delete()


def _network(address: str) -> str:
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return ""
    if isinstance(found, ipaddress.IPv6Address):
        if found.ipv4_mapped:
            return str(found.ipv4_mapped)
        return str(ipaddress.ip_network((found, 64), strict=False))  # a household gets 64 bits or more (RFC 6177)
    return str(found)


def _digest(*what: str) -> str:
    return hmac.new(settings.SECRET_KEY.encode(), "\0".join(("tries", *what)).encode(), sha256).hexdigest()


def _so_far(of: str, now: datetime) -> int:
    return Tries.objects.filter(of=of, since__gt=now - HOUR).values_list("count", flat=True).first() or 0


@transaction.atomic
def _count(of: str, most: int | None, now: datetime) -> datetime | None:
    """Count one more; or, when there have been `most`, say when the hour is over. The row's lock keeps it exact."""
    Tries.objects.get_or_create(of=of, defaults={"since": now})
    row = Tries.objects.select_for_update().get(of=of)
    if not row.since - CLOCKS_DIFFER <= now < row.since + HOUR:  # over, or counted before the clock was set back
        row.since, row.count = now, 0
    if most is not None and row.count >= most:
        return row.since + HOUR
    row.count += 1
    row.save(update_fields=["since", "count"])
    return None
