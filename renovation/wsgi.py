"""WSGI entry point, for waitress (`manage.py start`) and gunicorn alike."""

from __future__ import annotations

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "renovation.settings")

application = get_wsgi_application()
