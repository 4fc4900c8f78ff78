from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class HeapsConfig(AppConfig):
    name = "heaps"

    def ready(self) -> None:
        post_migrate.connect(_renew, sender=self)


def _renew(**_said: Any) -> None:
    from heaps import history  # it needs the models, which are not there yet when this module is read

    history.renew()
