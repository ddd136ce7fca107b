"""Large pictures take turns: what is decoded at one moment fits into the memory of a classroom
computer, however many phones send at once.
"""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from studio.camera.intake import MAX_PIXELS, PhotoError

LONGEST_WAIT_S = 60.0
"""A browser's patience (our choice); a picture of 48 megapixels takes some three seconds."""
BUSY = (
    "Many large photos are being read at this moment. Nothing is lost: send this one again in a "
    "minute."
)

_free = MAX_PIXELS
_changed = threading.Condition()


@contextmanager
def turn(pixels: int, *, patience_s: float = LONGEST_WAIT_S) -> Iterator[None]:
    """Wait until so many pixels may be decoded besides those that are being decoded.

    Parameters
    ----------
    pixels : int
        Of the picture; together they are never more than the largest picture that is taken.

    Raises
    ------
    PhotoError
        Others took longer than ``patience_s``. [s]
    """
    global _free
    wanted = min(pixels, MAX_PIXELS)
    with _changed:
        if not _changed.wait_for(lambda: _free >= wanted, patience_s):
            raise PhotoError(BUSY)
        _free -= wanted
    try:
        yield
    finally:
        with _changed:
            _free += wanted
            _changed.notify_all()
