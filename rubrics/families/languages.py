"""The languages a family may read, from Django's catalogues: one file a language.

``rubrics/locale/<code>/LC_MESSAGES/django.po`` makes a language; nothing else has to be told of it.
"""

from __future__ import annotations

from datetime import date
from functools import cache

from django.conf import settings
from django.utils import formats, translation

from rubrics.reports.language import ENGLISH, SOURCE, Language


def languages() -> list[tuple[str, str]]:
    """Code and own name of every language on offer, English first."""
    return list(settings.LANGUAGES)


@cache
def language(code: str) -> Language:
    """How to say things in a language; English where the code is not on offer any more."""
    if code == SOURCE or code not in dict(languages()):
        return ENGLISH

    def gettext(words: str) -> str:
        with translation.override(code):
            return translation.gettext(words) if words else words

    def ngettext(one: str, many: str, count: int) -> str:
        with translation.override(code):
            return translation.ngettext(one, many, count)

    def day(when: date) -> str:
        with translation.override(code):
            return formats.date_format(when, "DATE_FORMAT", use_l10n=True)

    return Language(
        code=code,
        name=dict(languages())[code],
        gettext=cache(gettext),
        ngettext=ngettext,
        day=day,
        decimal=formats.get_format("DECIMAL_SEPARATOR", code),
    )
