"""The door for gunicorn."""

import os

from django.core.wsgi import get_wsgi_application

from cooperative import durability

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "cooperative.settings")
application = get_wsgi_application()
durability.serve()
