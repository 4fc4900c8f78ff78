"""`manage.py set_up_link`: the address for the first start."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.urls import reverse

from members.models import Member
from members.views.first_start import first_start_code


class Command(BaseCommand):
    help = "Print a link, good for one hour, with which the first administrator names the cooperative."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--address", help="where the pages are served, like https://heaps.example.org")

    def handle(self, *args: Any, **options: Any) -> None:
        if Member.objects.filter(is_administrator=True, is_active=True).exists():
            raise CommandError("There is an administrator already. They add people under Set-up.")
        address = (options["address"] or usual_address()).rstrip("/")
        self.stdout.write(address + reverse("members:first_start", args=[first_start_code()]))


def usual_address() -> str:
    """Where this installation is most likely served."""
    host = settings.ALLOWED_HOSTS[0]
    return f"https://{host}" if settings.ON_HTTPS else f"http://{host}:8000"
