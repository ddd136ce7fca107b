"""Addresses of page fragments that another app serves, if that app is installed."""

from django.urls import NoReverseMatch, reverse


def address_or_none(name: str, **parts) -> str | None:
    """The address of a view by name; None where no such view is installed."""
    try:
        return reverse(name, kwargs=parts)
    except NoReverseMatch:
        return None
