"""Fill an empty database with all of it, once; and whom to sign in as."""

from datetime import datetime

from django.db import transaction

from cooperative.demo import desk, ground, phones, story
from cooperative.demo.people import NAMED
from members.models import Cooperative, Member

ROLES = ("administrator", "coordinator", "treasurer")


@transaction.atomic
def fill(now: datetime) -> bool:
    """Fill an empty database with two years that end at `now`. False when something is there already."""
    if Cooperative.objects.exists():
        return False
    sites = ground.lay_out(now)
    ground.make_rules(sites, since=phones.phones_since(now), today=now.date())
    phones.send(story.told(now), sites, now)
    desk.tidy(sites, now)
    return True


def sign_ins() -> list[tuple[str, str]]:
    """Those with a role, and one member, as the database has them: it may be older, or somebody changed a role."""
    people = {one.username: one for one in Member.objects.filter(is_active=True).prefetch_related("stewardships__site")}
    told = [(one.username, _told(people[one.username])) for one in NAMED if one.username in people]
    plain = [username for username, role in told if role == "member"]
    return [(username, role) for username, role in told if role != "member" or username == plain[0]]


def _told(person: Member) -> str:
    roles = [role if role != "coordinator" else "coordinator of all sites" for role in ROLES if person.has_role(role)]
    alone = [f"coordinator of {one.site} alone" for one in person.stewardships.all()]
    return " and ".join(roles + alone) or "member"
