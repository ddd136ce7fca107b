"""User names proposed from people's names: ASCII letters, which every keyboard has."""

import hashlib
import re
import unicodedata

from django.contrib.auth import get_user_model

FOLDED = {"ß": "ss", "þ": "th", "ð": "d", "ı": "i", "ŋ": "ng", "ə": "a"}
"""Latin letters whose Unicode name does not contain the letter to write instead."""

LATIN_LETTER = re.compile(r"LATIN (?:SMALL|CAPITAL) (?:LETTER|LIGATURE) ([A-Z]{1,2})(?: WITH .*)?")
"""Unicode name of a Latin letter, with the one or two plain letters in it: "L" of "Ł"."""

STAND_INS = (
    *("ash", "basalt", "celadon", "chamois", "cobalt", "copper", "engobe", "feldspar", "flint"),
    *("glaze", "granite", "kiln", "mortar", "ochre", "pebble", "quartz", "slate", "talc", "umber"),
)
"""Words of the trade for a name without a Latin letter, which no rule writes as its bearer does."""


def plain_letters(name: str) -> str:
    """A name in small ASCII letters; what no rule writes in them becomes a space."""
    written = []
    for letter in unicodedata.normalize("NFKD", name.lower()):
        if letter.isascii():
            written.append(letter if letter.isalnum() or letter in "'’" else " ")
        elif unicodedata.category(letter) != "Mn":
            latin = LATIN_LETTER.fullmatch(unicodedata.name(letter, ""))
            written.append(FOLDED.get(letter) or (latin[1].lower() if latin else " "))
    return "".join(written)


def propose_username(name: str) -> str:
    """A user name that is free: the given name and the initial, with a number where taken."""
    words = re.findall("[a-z0-9]+", plain_letters(name).replace("'", ""))
    if words:
        base = ".".join([words[0], *[word[0] for word in words[-1:] if len(words) > 1]])
    else:
        # The same name always gets the same word.
        base = STAND_INS[int(hashlib.sha256(name.encode()).hexdigest(), 16) % len(STAND_INS)]
    users = get_user_model().objects
    taken = set(users.filter(username__startswith=base).values_list("username", flat=True))
    if base not in taken:
        return base
    number = next(n for n in range(2, len(taken) + 3) if f"{base}{n}" not in taken)
    return f"{base}{number}"
