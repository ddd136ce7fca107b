"""What the records tell to whoever listens; they know nobody by name."""

from django.dispatch import Signal

# Sent inside the transaction of a copy, with ``source`` and ``copy``, two projects.
project_copied = Signal()
