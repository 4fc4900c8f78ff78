"""Passkeys: made on somebody's phone, shown with one tap; the secret half never leaves the phone."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any, Literal

from django.conf import settings
from django.db import DatabaseError, IntegrityError, transaction
from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _
from webauthn import (
    generate_authentication_options,
    generate_registration_options,
    options_to_json,
    verify_authentication_response,
    verify_registration_response,
)
from webauthn.helpers import (
    base64url_to_bytes,
    bytes_to_base64url,
    parse_authentication_credential_json,
    parse_client_data_json,
    parse_registration_credential_json,
)
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from members.models import Cooperative, Member, Passkey, Session
from members.sessions import label_of

Purpose = Literal["make", "confirm"]  # of those signed in

ASKED_KEY = "asked"
ASKED_SECONDS = 5 * 60
ASKED_AT_MOST = 5  # pages that somebody has open side by side
LONGEST_ANSWER = 20_000
LONGEST_NUMBER = 1_023  # bytes of a key's own number (WebAuthn 2, 4)
#: The phone's own lock must have been opened: a passkey counts as proof before exports, roles and erasure.
LOCK_OPENED = UserVerificationRequirement.REQUIRED
NOT_SHOWN = _("That did not work. Try once more, or come in another way.")


class NotShown(Exception):
    """What a phone answered does not hold. Every reason gets the same answer."""


def question_to_make(request: HttpRequest, person: Member) -> str:
    """What the phone is told so that it makes a passkey, as JSON."""
    cooperative = Cooperative.objects.first()
    options = generate_registration_options(
        rp_id=_host(request),
        rp_name=cooperative.name if cooperative else "Cooperative Heaps",
        user_id=person.uid.bytes,
        user_name=person.username,
        user_display_name=person.name,
        timeout=ASKED_SECONDS * 1000,
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.REQUIRED, user_verification=LOCK_OPENED
        ),
        exclude_credentials=_keys_of(person),
    )
    _remember(request, "make", options.challenge)
    return options_to_json(options)


def question_to_show(request: HttpRequest, person: Member | None = None) -> str:
    """What the phone is told so that it shows a passkey, as JSON: any of this place, or only those of `person`."""
    options = generate_authentication_options(
        rp_id=_host(request),
        timeout=ASKED_SECONDS * 1000,
        allow_credentials=_keys_of(person) if person else None,
        user_verification=LOCK_OPENED,
    )
    if person:
        _remember(request, "confirm", options.challenge)
    else:
        _lay_by(request, options.challenge)
    return options_to_json(options)


def keep(request: HttpRequest, person: Member, answer: str) -> Passkey:
    """Keep the passkey that a phone has made. Raises NotShown."""
    with _a_stranger_s_bytes():
        made = parse_registration_credential_json(_short(answer))
        challenge = _asked(made.response.client_data_json)
        _use_up(request, "make", challenge)
        verified = verify_registration_response(
            credential=made,
            expected_challenge=challenge,
            expected_rp_id=_host(request),
            expected_origin=_origin(request),
            require_user_verification=True,
        )
        return _kept(request, person, verified.credential_id, verified.credential_public_key, verified.sign_count)


def shown(request: HttpRequest, answer: str, person: Member | None = None) -> Member:
    """Whose passkey a phone has shown; with `person`, it must be theirs. Raises NotShown."""
    with _a_stranger_s_bytes():
        said = parse_authentication_credential_json(_short(answer))
        challenge = _asked(said.response.client_data_json)
        if person:
            _use_up(request, "confirm", challenge)
        else:
            _pick_up(request, challenge)
        with transaction.atomic():
            keys = Passkey.objects.select_for_update(of=("self",)).select_related("member")
            key = keys.get(credential_id=bytes_to_base64url(said.raw_id), member__is_active=True)
            _must_belong(key, said.response.user_handle, person)
            verified = verify_authentication_response(
                credential=said,
                expected_challenge=challenge,
                expected_rp_id=_host(request),
                expected_origin=_origin(request),
                credential_public_key=bytes(key.public_key),
                credential_current_sign_count=key.sign_count,
                require_user_verification=True,
            )
            key.sign_count, key.last_used_at = verified.new_sign_count, timezone.now()
            key.save(update_fields=["sign_count", "last_used_at"])
            return key.member


@contextmanager
def _a_stranger_s_bytes() -> Iterator[None]:
    """Whatever is wrong with them is one refusal: the library answers bad bytes with errors of many kinds."""
    try:
        yield
    except (NotShown, DatabaseError):
        raise
    except Exception as broken:
        raise NotShown from broken


def _must_belong(key: Passkey, handle: bytes | None, person: Member | None) -> None:
    """A phone that names no person was told whose key it is asked for (WebAuthn 2, 7.2, step 6)."""
    of_the_owner = handle == key.member.uid.bytes or (handle is None and person is not None)
    if not of_the_owner or (person is not None and key.member != person):
        raise NotShown


def _kept(request: HttpRequest, person: Member, number: bytes, public_key: bytes, count: int) -> Passkey:
    if len(number) > LONGEST_NUMBER:
        raise NotShown
    try:
        with transaction.atomic():
            return Passkey.objects.create(
                member=person,
                credential_id=bytes_to_base64url(number),
                public_key=public_key,
                sign_count=count,
                label=label_of(request.META.get("HTTP_USER_AGENT", "")),
                made_at=timezone.now(),
            )
    except IntegrityError as known:  # somebody's already
        raise NotShown from known


def _asked(client_said: bytes) -> bytes:
    """The challenge that is answered, by what the browser says."""
    return parse_client_data_json(client_said).challenge


def _lay_by(request: HttpRequest, challenge: bytes) -> None:
    """Note for a few minutes what somebody was asked who is not signed in, without a session of theirs.

    Its cookie could come late, when they have just signed in by password, and would sign them out.
    """
    ends = timezone.now() + timedelta(seconds=ASKED_SECONDS)
    Session.objects.create(
        session_key=_place(request, challenge), session_data=Session.objects.encode({}), expire_date=ends
    )


def _pick_up(request: HttpRequest, challenge: bytes) -> None:
    """Whoever comes second with it, even at the same moment, finds it gone."""
    there = Session.objects.filter(session_key=_place(request, challenge), expire_date__gte=timezone.now())
    if not there.delete()[0]:
        raise NotShown


def _place(request: HttpRequest, challenge: bytes) -> str:
    """Where a challenge is laid by: only the browser that was asked, which has this token, finds it again."""
    browser = request.COOKIES.get(settings.CSRF_COOKIE_NAME, "")
    return salted_hmac("members.passkeys", f"{browser} {challenge.hex()}").hexdigest()


def _remember(request: HttpRequest, purpose: Purpose, challenge: bytes) -> None:
    """Note what was asked, for a few minutes."""
    now = timezone.now().timestamp()
    asked: dict[str, Any] = request.session.get(ASKED_KEY, {})
    young = [(one, what) for one, what in asked.items() if now - what["at"] <= ASKED_SECONDS]
    kept = dict(young[1 - ASKED_AT_MOST :])
    request.session[ASKED_KEY] = kept | {bytes_to_base64url(challenge): {"for": purpose, "at": now}}


def _use_up(request: HttpRequest, purpose: Purpose, challenge: bytes) -> None:
    """The same for what their own session remembers."""
    with transaction.atomic():
        rows = Session.objects.select_for_update(of=("self",))  # not its device, which may be gone
        row = rows.get(session_key=request.session.session_key)
        asked: dict[str, Any] = row.get_decoded().get(ASKED_KEY, {})
        what = asked.pop(bytes_to_base64url(challenge), None)
        request.session[ASKED_KEY] = asked
        request.session.save()
    if what is None or what["for"] != purpose or abs(timezone.now().timestamp() - what["at"]) > ASKED_SECONDS:
        raise NotShown


def _short(answer: str) -> str:
    if len(answer) > LONGEST_ANSWER:
        raise NotShown
    return answer


def _keys_of(person: Member) -> list[PublicKeyCredentialDescriptor]:
    numbers = person.passkeys.values_list("credential_id", flat=True)
    return [PublicKeyCredentialDescriptor(id=base64url_to_bytes(number)) for number in numbers]


def _host(request: HttpRequest) -> str:
    """The name that keys belong to. Django has checked it against ALLOWED_HOSTS."""
    return request.get_host().rsplit(":", 1)[0].lower()


def _origin(request: HttpRequest) -> str:
    """What the browser says of where it is."""
    return f"{request.scheme}://{request.get_host().lower()}"
