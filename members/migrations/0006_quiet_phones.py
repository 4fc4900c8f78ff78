from django.db import migrations, models
from django.db.models import F


def say_when(apps, schema_editor):
    """Until now it was only noted when a device was last seen."""
    apps.get_model("members", "Device").objects.filter(waiting__isnull=False).update(spoke_at=F("last_seen_at"))


class Migration(migrations.Migration):

    dependencies = [
        ('members', '0005_erased'),
    ]

    operations = [
        migrations.AddField(
            model_name='device',
            name='missing',
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.AddField(
            model_name='device',
            name='missing_since',
            field=models.DateTimeField(null=True),
        ),
        migrations.AddField(
            model_name='device',
            name='spoke_at',
            field=models.DateTimeField(null=True),
        ),
        migrations.RunPython(say_when, migrations.RunPython.noop),
    ]
