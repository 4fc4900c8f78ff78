"""People and their cooperative."""

import hashlib
import uuid
from importlib import import_module
from typing import Any, ClassVar

from django.conf import settings
from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.sessions.base_session import AbstractBaseSession, BaseSessionManager
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone


class Cooperative(models.Model):
    """The one cooperative this installation belongs to."""

    name = models.CharField(max_length=80)
    year_starts_in_month = models.PositiveSmallIntegerField(default=1)
    bag_litres = models.PositiveSmallIntegerField(default=40)
    keep_names_months = models.PositiveSmallIntegerField(
        default=24, validators=[MinValueValidator(3), MaxValueValidator(120)]
    )

    def __str__(self) -> str:
        return self.name


class MemberRegister(BaseUserManager["Member"]):
    def create_member(self, username: str, name: str, password: str | None = None, **roles: bool) -> "Member":
        member = self.model(username=username, name=name, **roles)
        member.set_password(password)
        member.save(using=self._db)
        return member


class Member(AbstractBaseUser):
    """Someone who records, sees and collects. No e-mail address is needed.

    `uid` is the opaque name a phone keeps beside an entry, so that one person's entries are never
    sent as another's; the phone never keeps the person's own name.
    """

    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    username = models.CharField("sign-in name", max_length=40, unique=True)
    name = models.CharField("what we call you", max_length=60)
    is_active = models.BooleanField(default=True)
    is_coordinator = models.BooleanField(default=False)
    is_treasurer = models.BooleanField(default=False)
    is_administrator = models.BooleanField(default=False)
    joined_at = models.DateTimeField(auto_now_add=True)

    objects: ClassVar[MemberRegister] = MemberRegister()

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS = ["name"]

    class Meta:
        ordering = ["name", "username"]

    def __str__(self) -> str:
        return self.name

    def has_role(self, role: str) -> bool:
        """Whether this person holds `role`: member, coordinator, treasurer or administrator."""
        return self.is_active and (role == "member" or bool(getattr(self, f"is_{role}")))


class Device(models.Model):
    """A browser in which somebody has signed in: what stands on the page of their phones."""

    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    member = models.ForeignKey(Member, models.CASCADE, related_name="devices")
    label = models.CharField(max_length=80)  # "Android phone, Chrome", from what the browser says of itself
    signed_in_at = models.DateTimeField()
    last_seen_at = models.DateTimeField()
    phone = models.UUIDField(null=True)  # the number that the phone itself writes on what it sends
    waiting = models.PositiveIntegerField(null=True)  # how many entries it last spoke of
    spoke_at = models.DateTimeField(null=True)  # when it did
    missing = models.PositiveIntegerField(default=0)  # how many it had spoken of when it came back with an empty store
    missing_since = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-last_seen_at", "-pk"]

    def __str__(self) -> str:
        return self.label


class SessionRegister(BaseSessionManager["Session"]):
    def get_queryset(self) -> models.QuerySet["Session"]:
        """A session comes with its device, so that asking when that was last seen costs nothing more."""
        return super().get_queryset().select_related("device")


class Session(AbstractBaseSession):
    """Django's session, with the device it belongs to: to end a device is to delete its sessions."""

    device = models.ForeignKey(Device, models.CASCADE, null=True, related_name="sessions")

    objects: ClassVar[SessionRegister] = SessionRegister()

    class Meta(AbstractBaseSession.Meta):
        abstract = False

    def __str__(self) -> str:
        return f"until {self.expire_date}"

    @classmethod
    def get_session_store_class(cls) -> Any:
        return import_module(settings.SESSION_ENGINE).SessionStore


class Passkey(models.Model):
    """A key pair that a phone or a computer made for somebody; the secret half never leaves it."""

    member = models.ForeignKey(Member, models.CASCADE, related_name="passkeys")
    credential_id = models.CharField(max_length=1400, unique=True)  # at most 1,023 bytes (WebAuthn 2, 4), in base64url
    public_key = models.BinaryField()
    sign_count = models.PositiveBigIntegerField(default=0)
    label = models.CharField(max_length=80)
    made_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["made_at", "pk"]

    def __str__(self) -> str:
        return self.label


class Ticket(models.Model):
    """Lets somebody in once: a newcomer (an invitation), or a member on another phone.

    It can be shown by its link, or told by its words. Only digests of both are kept. The first of the words is no
    secret: it says which ticket is meant, so that wrong tries count against that one.
    """

    first_word = models.CharField(max_length=12)
    other_words = models.CharField(max_length=128)  # a slow, salted digest
    link = models.CharField(max_length=64, unique=True)  # SHA-256 of 128 or more random bits
    member = models.ForeignKey(Member, models.CASCADE, null=True, related_name="tickets")  # null: for a newcomer
    made_by = models.ForeignKey(Member, models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    is_proof = models.BooleanField(default=True)  # whether whoever uses it has thereby shown who they are
    tries_left = models.PositiveSmallIntegerField(default=5)
    used_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-made_at", "-pk"]
        indexes = [models.Index(fields=["first_word", "ends_at"], name="ticket_first_word")]

    def __str__(self) -> str:
        return f"until {self.ends_at}"


class Tries(models.Model):
    """How often somebody has tried to sign in within an hour, and failed."""

    of = models.CharField(max_length=64, unique=True)  # a keyed digest of an address or a name: neither stands here
    since = models.DateTimeField()
    count = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.count} since {self.since}"


class Erased(models.Model):
    """That somebody, or somebody who gives, was erased: a copy from before must not bring them back.

    Only a digest of their number stands here, which says nothing but to whoever holds such a copy.
    """

    class What(models.TextChoices):
        PERSON = "person"
        GIVER = "giver"
        CONTACT = "contact"  # how a giver is reached, and no more

    of = models.CharField(max_length=64, unique=True)
    at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return f"erased {self.at}"

    @classmethod
    def note(cls, what: str, uid: uuid.UUID) -> None:
        """Somebody is being erased, in the same transaction."""
        cls.objects.get_or_create(of=cls.digest(what, uid))

    @staticmethod
    def digest(what: str, uid: uuid.UUID) -> str:
        """By what an erased number is known again. Nobody can try out all of 122 random bits."""
        return hashlib.sha256(f"{what} {uid}".encode()).hexdigest()
