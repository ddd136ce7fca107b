"""Context variables that every template gets."""

from django.conf import settings
from django.utils.functional import SimpleLazyObject

from studio import access


def site(request):
    """Version, whether this is the demo, and whether the reader is a grown-up (asked when used)."""
    user = getattr(request, "user", None)
    return {
        "is_demo": settings.IS_DEMO,
        "site_version": settings.VERSION,
        "is_grown_up": SimpleLazyObject(
            lambda: bool(user and user.is_authenticated and access.is_grown_up(user))
        ),
    }
