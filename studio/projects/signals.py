"""Signals that the records send; whoever receives them is not known here."""

from django.dispatch import Signal

# Sent inside the transaction of a copy, with ``source`` and ``copy``, two projects.
project_copied = Signal()

# Sent with ``project`` when a measuring sheet opens. A receiver answers with the quantities that
# it leans on, as "quantity" or "quantity:name", or with None where it asks for nothing.
measures_asked = Signal()
