"""People and their cooperative."""

import uuid
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models


class Cooperative(models.Model):
    """The one cooperative this installation belongs to."""

    name = models.CharField(max_length=80)
    year_starts_in_month = models.PositiveSmallIntegerField(default=1)
    bag_litres = models.PositiveSmallIntegerField(default=40)

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
