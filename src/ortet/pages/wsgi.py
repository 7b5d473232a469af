"""The pages as a WSGI application, for cheroot here and for any server behind a proxy."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "ortet.settings")
application = get_wsgi_application()
