"""Slow down the guessing of passwords: after a few failures with one name, that name waits.

The failures stand in the database, so every process of the site counts the same ones; nothing
else is kept, and they are thrown away when they are older than the window. The count goes by name,
not by address: a school's pupils all come from one.
"""

from datetime import timedelta

from django.utils import timezone

from studio.models import FailedSignIn

# A person who forgot tries four or five times; a machine needs thousands (our choice).
TRIES = 8
MINUTES = 15
WINDOW = timedelta(minutes=MINUTES)


def _recent(name: str):
    return FailedSignIn.objects.filter(name=_key(name), at__gt=timezone.now() - WINDOW)


def _key(name: str) -> str:
    return name.strip().lower()[:150]


def must_wait(name: str) -> bool:
    """Whether this name failed so often of late that it is not even tried."""
    return _recent(name).count() >= TRIES


def note_failure(name: str) -> None:
    """Count one failure and throw away those of all names that no longer count."""
    FailedSignIn.objects.filter(at__lte=timezone.now() - WINDOW).delete()
    FailedSignIn.objects.create(name=_key(name))


def forget(name: str) -> None:
    """Start afresh after a sign-in that worked."""
    FailedSignIn.objects.filter(name=_key(name)).delete()
