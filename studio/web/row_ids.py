"""Ids of rows as a page sends them: text from anybody, to be looked up in the database."""

from collections.abc import Iterable

# The largest id that a row can have in either database (a signed 64-bit whole number).
LARGEST_ID = 2**63 - 1
LONGEST_ID = len(str(LARGEST_ID))


def row_id(text: str) -> int | None:
    """The id, or None where no row can have it (words, other alphabets' digits, a huge number)."""
    text = text.strip()
    if not (text.isascii() and text.isdecimal() and len(text) <= LONGEST_ID):
        return None
    number = int(text)
    return number if number <= LARGEST_ID else None


def row_ids(texts: Iterable[str]) -> list[int]:
    """Those of the texts that can be ids."""
    return [number for text in texts if (number := row_id(text)) is not None]
