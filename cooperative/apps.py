from django.apps import AppConfig
from django.core import checks
from django.db.backends.signals import connection_created


class CooperativeConfig(AppConfig):
    name = "cooperative"

    def ready(self) -> None:
        from cooperative import durability
        from cooperative.backups import held

        connection_created.connect(held.note_open)
        connection_created.connect(durability.look)
        checks.register(durability.check, checks.Tags.database)
