from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('members', '0003_move_sessions'),
    ]

    operations = [
        migrations.AddField(
            model_name='ticket',
            name='is_proof',
            field=models.BooleanField(default=True),
        ),
    ]
