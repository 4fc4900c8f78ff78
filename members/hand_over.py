"""The hand-over key: with it a phone whose sign-in has ended may still hand in what somebody recorded on it.

It is a signature of the person's opaque number, so nothing is kept here. It opens nothing: what comes with it
waits for a coordinator.
"""

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
