"""A word for whoever watches the site: a proxy, a supervisor."""

import os

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@login_not_required
@never_cache
@require_safe
def health(request):
    """Answer 200 where the database answers and photographs can be written, else 503 and why."""
    problems = []
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        problems.append("the database does not answer")
    folder = settings.MEDIA_ROOT
    if os.path.isdir(folder) and not os.access(folder, os.W_OK | os.X_OK):
        problems.append("the folder of the photographs cannot be written")
    said = "; ".join(problems) or "well"
    return HttpResponse(
        f"{said}\n", status=503 if problems else 200, content_type="text/plain; charset=utf-8"
    )
