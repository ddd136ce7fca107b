"""Addresses of fragments that another part of the site answers, where it is there."""

from django.urls import NoReverseMatch, reverse


def address_or_none(name: str, **parts) -> str | None:
    """The address of a view by name; None where no such view is installed."""
    try:
        return reverse(name, kwargs=parts)
    except NoReverseMatch:
        return None
