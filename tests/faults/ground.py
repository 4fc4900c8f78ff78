"""Where schedules play: numbers that every seed knows, and the ground and people that they belong to."""

SITE = "5e000000-0000-4000-8000-000000000001"
#: Three bays and a spare one that nobody feeds much, so that it may be taken away.
BAYS = tuple(f"ba000000-0000-4000-8000-00000000000{place}" for place in range(4))
SPARE = 3
NAMES = ("ada", "bela", "cleo", "dov", "finn")
PEOPLE = {name: f"9e000000-0000-4000-8000-00000000000{place}" for place, name in enumerate(NAMES)}
COORDINATOR = PEOPLE["cleo"]
#: Those who may be shut out or leave. Somebody must stay to record.
LEAVERS = (PEOPLE["dov"], PEOPLE["finn"])

GROUND = f"""
import django; django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
from heaps.models import Bay, Container, Site
from heaps.sync import epoch
from members.models import Cooperative, Member
Cooperative.objects.create(name="Two Lanes Growers", bag_litres=40)
site = Site.objects.create(uid={SITE!r}, name="Lane Side", time_zone="UTC")
for place, uid in enumerate({BAYS!r}):
    Bay.objects.create(uid=uid, site=site, name=f"Bay {{place + 1}}", position=place + 1,
                       length_cm=100, width_cm=100, height_cm=100)
Container.objects.create(site=site, name="Bucket", litres=10)
for name, uid in {PEOPLE!r}.items():
    Member.objects.create_member(name, name.title(), "leaves and straw", uid=uid, is_coordinator=uid == {COORDINATOR!r})
epoch()
"""
