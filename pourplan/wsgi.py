"""What the web server calls."""

import os

from django.core.management.base import BaseCommand
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "pourplan.settings")

application = get_wsgi_application()
# Django checks its settings only in its own commands; a wrong one must stop the web server too.
BaseCommand().check()
