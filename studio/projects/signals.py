"""Signals that the records send; whoever receives them is not known here."""

from django.dispatch import Signal

# Sent inside the transaction of a copy, with ``source`` and ``copy``, two projects.
project_copied = Signal()
