"""A sign-in on a computer that others use too: it ends with the browser or when left."""

import time

from django.contrib.auth import logout

MINUTES = 30
"""Without a page from the site (our choice: a lesson's half)."""
SECONDS = MINUTES * 60
STEP = 60
"""Seconds: a session is not written afresh for every picture of a page."""
SEEN = "shared_computer_seen"


def begin(request) -> None:
    """Mark the session of who just signed in."""
    request.session[SEEN] = int(time.time())
    request.session.set_expiry(0)


def is_shared(request) -> bool:
    """Whether the session was marked when it began."""
    return SEEN in request.session


def end_when_idle(get_response):
    """Sign out whoever left a shared computer for :data:`MINUTES`."""

    def middleware(request):
        seen, now = request.session.get(SEEN), int(time.time())
        if seen is not None:
            if not 0 <= now - seen <= SECONDS:
                logout(request)
            elif now - seen >= STEP:
                request.session[SEEN] = now
        return get_response(request)

    return middleware
