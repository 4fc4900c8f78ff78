"""Whoever is signed in stays so: sessions move to the table that knows their device."""

from datetime import timedelta

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.serializers import JSONSerializer
from django.core import signing
from django.db import migrations
from django.utils import timezone

AT_ONCE = 500
SALT = "django.contrib.sessions.SessionStore"
DEVICE_KEY = "device"


def move(apps, schema_editor):
    old, new = apps.get_model("sessions", "Session"), apps.get_model("members", "Session")
    device, member = apps.get_model("members", "Device"), apps.get_model("members", "Member")
    now = timezone.now()
    people = set(member.objects.values_list("pk", flat=True))
    for row in old.objects.filter(expire_date__gt=now).iterator(chunk_size=AT_ONCE):
        try:
            said = signing.loads(row.session_data, salt=SALT, serializer=JSONSerializer)
        except signing.BadSignature:  # signed with another key: it would not have been taken either
            continue
        person = int(said.get(SESSION_KEY, 0))
        if person not in people:
            continue
        signed_in_at = row.expire_date - timedelta(seconds=settings.SESSION_COOKIE_AGE)
        found = device.objects.create(
            member_id=person, label="Signed in before this page came", signed_in_at=signed_in_at, last_seen_at=now
        )
        said[DEVICE_KEY] = found.pk
        data = signing.dumps(said, salt=SALT, serializer=JSONSerializer, compress=True)
        new.objects.create(
            session_key=row.session_key, session_data=data, expire_date=row.expire_date, device=found
        )
    old.objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [("members", "0002_joining"), ("sessions", "0001_initial")]
    operations = [migrations.RunPython(move, migrations.RunPython.noop)]
