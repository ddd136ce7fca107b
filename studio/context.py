"""What every template knows."""

from django.conf import settings


def site(request):
    """Say whether this is the demo, whose people and pieces are invented."""
    return {"is_demo": settings.IS_DEMO}
