"""The hand-over key: with it a phone whose sign-in has ended may still hand in what somebody recorded on it.

It is a signature of the person's opaque number, so nothing is kept here. It opens nothing: what comes with it
waits for a coordinator.
"""

import hashlib
import hmac

from django.core.signing import BadSignature, Signer

from members.models import Member

SALT = "members.hand_over"


def key_of(person: Member) -> str:
    """The key that a phone keeps for somebody who is signed in on it."""
    return Signer(salt=SALT).signature(str(person.uid))


def holds(uid: str, key: object) -> bool:
    """Whether this is the key of the person with that number, who may have left since."""
    try:
        return isinstance(key, str) and Signer(salt=SALT).unsign(f"{uid}:{key}") == uid
    except (BadSignature, ValueError):  # half a character is no key either
        return False


def seals(uid: str, text: str, seal: object) -> bool:
    """Whether a phone that has the key of the person with that number sealed this text: HMAC-SHA-256 (RFC 2104)."""
    if not isinstance(seal, str):
        return False
    key = Signer(salt=SALT).signature(uid)
    made = hmac.new(key.encode(), text.encode("utf-8", "surrogatepass"), hashlib.sha256).hexdigest()
    return hmac.compare_digest(made.encode(), seal.encode("utf-8", "surrogatepass"))
