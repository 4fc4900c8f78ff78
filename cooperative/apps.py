import gc

from django.apps import AppConfig
from django.core import checks
from django.db.backends.signals import connection_created

#: Young objects that are let gather before the collector looks for cycles. After its usual 700 it looks twenty times at
#: one long letter, all of which stays until the letter is stored.
YOUNG_OBJECTS = 25_000


class CooperativeConfig(AppConfig):
    name = "cooperative"

    def ready(self) -> None:
        gc.set_threshold(YOUNG_OBJECTS, *gc.get_threshold()[1:])
        from cooperative import durability
        from cooperative.backups import held

        connection_created.connect(held.note_open)
        connection_created.connect(durability.look)
        checks.register(durability.check, checks.Tags.database)
