from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class HeapsConfig(AppConfig):
    name = "heaps"

    def ready(self) -> None:
        from heaps import stewards  # it needs the models, which are not there yet when this module is read

        stewards.add_role()
        post_migrate.connect(_renew, sender=self)


def _renew(**_said: Any) -> None:
    from heaps import history  # as above

    history.renew()
