"""Slow down the guessing of passwords: one name from one address waits longer with every failure.

The count goes by name and address together, so nobody shuts another out of the own address, and a
class that shares one address shares no count. It stands in the database and is taken before the
password is looked at: every process counts the same tries, and forty at once are forty in a row.
"""

from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address, ip_network

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from studio.models import FailedSignIn

# A person who forgot tries four or five times; a machine needs thousands (our choice).
TRIES = 8
FIRST_WAIT, LONGEST_WAIT = timedelta(seconds=30), timedelta(minutes=15)
"""After the last free try, and after some more: each failure doubles the wait (our choice)."""
FORGOTTEN = timedelta(days=1)
"""So long after the last try the count begins afresh: 100 guesses a day at most, for ever."""
IPV6_NETWORK = 64
"""Bits of an IPv6 address that one household or school has; the rest it gives itself."""


def address_of(request) -> str:
    """Where a request comes from: the proxy's word where one is declared, else the connection's."""
    text = request.META.get("REMOTE_ADDR", "")
    if settings.HTTPS and (forwarded := request.META.get("HTTP_X_FORWARDED_FOR")):
        # The last entry is our own proxy's; those before it anybody can write.
        text = forwarded.rpartition(",")[2].strip()
    try:
        address = ip_address(text)
    except ValueError:
        return "unknown"
    if isinstance(address, IPv6Address) and address.ipv4_mapped is None:
        return str(ip_network((address, IPV6_NETWORK), strict=False).network_address)
    return str(getattr(address, "ipv4_mapped", None) or address)


def _key(name: str) -> str:
    return name.strip().lower()[:150]


def wait_after(tries: int) -> timedelta:
    """How long the next try has to wait after so many that failed."""
    if tries < TRIES:
        return timedelta(0)
    # Beyond a few doublings the longest wait is reached; a larger power would only overflow.
    return min(LONGEST_WAIT, FIRST_WAIT * 2 ** min(tries - TRIES, 16))


@transaction.atomic
def take_try(name: str, address: str) -> datetime | None:
    """Count a try before it is made; None where it may be made, else until when to wait.

    A try that has to wait is neither made nor counted.
    """
    now = timezone.now()
    FailedSignIn.objects.filter(last_at__lt=now - FORGOTTEN).delete()
    key = {"name": _key(name), "address": address}
    FailedSignIn.objects.bulk_create([FailedSignIn(**key, last_at=now)], ignore_conflicts=True)
    count = FailedSignIn.objects.select_for_update().get(**key)
    until = count.last_at + wait_after(count.tries)
    if now < until:
        return until
    count.tries, count.last_at = count.tries + 1, now
    count.save(update_fields=["tries", "last_at"])
    return None


def forget(name: str, address: str | None = None) -> None:
    """Start afresh: at one address after a sign-in that worked, or everywhere."""
    counts = FailedSignIn.objects.filter(name=_key(name))
    if address is not None:
        counts = counts.filter(address=address)
    counts.delete()
