from django.apps import AppConfig


class MembersConfig(AppConfig):
    name = "members"

    def ready(self) -> None:
        from members import sessions  # noqa: F401 - it listens to who signs in and out
