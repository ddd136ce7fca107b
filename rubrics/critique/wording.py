"""What can be told of a remark's words by plain rules: a hint for its writer, a flag for the gate.

Pure. The pages' script applies the same rules to the same lists, which it is given with the page.
The lists are our own and short: they help the eye, and decide nothing. Remarks come in English
and in Spanish, often in one class, so the lists of both apply to every remark.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

MOST_WORDS = 40
"""Words in a box: about two sentences, so that a remark stays with one thing (common practice,
no source)."""

FEWEST_WORDS = 4
"""Under so many words a remark says hardly anything (common practice, no source)."""


def _words(lines: str) -> frozenset[str]:
    return frozenset(lines.split())


PLACES = _words(
    """
    rim lip edge wall belly side shoulder neck foot base bottom handle strap attachment seam join
    dart inside outside inner outer corner spout surface texture glaze slip slab top middle left
    right front back upper lower curve profile opening mouth line lines
    """
) | _words(
    """
    borde labio pared paredes panza vientre costado lado lados hombro cuello pie base fondo asa
    asas tira costura costuras unión union junta pinza interior exterior dentro fuera adentro
    afuera esquina esquinas pico vertedor superficie textura esmalte engobe barbotina placa
    plancha arriba abajo medio centro izquierda derecha frente detrás detras atrás atras
    superior inferior curva perfil abertura boca línea líneas linea lineas
    """
)
"""A remark with one of these words names a place, as one with a pin does."""

REASONS = _words("because since so therefore as otherwise if porque pues si") | {
    "ya que",
    "así que",
    "asi que",
    "para que",
    "por eso",
}
"""A remark with one of these gives a reason; of two words where one alone says none. The Spanish
"como" is left out, for it mostly compares."""

EMPTY_WORDS = _words(
    """
    a i it its is very really so just the this that like love good nice great cool okay ok fine bad
    idk dunno nothing none no yes well done job looks look pretty beautiful awesome amazing perfect
    """
) | _words(
    """
    me te le gusta gustó encanta mucho muy es está esta este esto el la lo un una todo de verdad
    bonito bonita lindo linda bueno buena bien genial padre chido hermoso hermosa perfecto perfecta
    nada ninguno ninguna sé se sí trabajo tu ve
    """
)
"""A remark of these words alone says nothing of the piece."""

HURTFUL = _words(
    """
    stupid dumb idiot ugly hideous trash garbage rubbish crap worst hate hated lame pathetic lazy
    loser sucks suck gross disgusting hopeless useless worthless joke kill shut moron
    """
) | _words(
    """
    estúpido estúpida estupido estupida tonto tonta idiota feo fea horrible horrendo horrenda basura
    porquería porqueria asco asqueroso asquerosa inútil inutil patético patética patetico patetica
    odio ridículo ridícula ridiculo ridicula mierda imbécil imbecil flojo floja cállate callate
    """
)
"""A remark with one of these words is flagged; whether it hurts is the teacher's to say."""

_WORD = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)*")


@dataclass(frozen=True, slots=True)
class RemarkFindings:
    """What the rules find in a remark."""

    words: int
    names_place: bool
    gives_reason: bool

    @property
    def too_long(self) -> bool:
        return self.words > MOST_WORDS


def read(text: str, *, pointed: bool = False) -> RemarkFindings:
    """Apply the rules; ``pointed`` where there is a pin or a chosen place."""
    known = _known(text)
    return RemarkFindings(
        words=len(text.split()),
        names_place=pointed or not PLACES.isdisjoint(known),
        gives_reason=not REASONS.isdisjoint([*known, *map(" ".join, pairwise(known))]),
    )


def flags(text: str, *, pointed: bool = False) -> tuple[str, ...]:
    """Why a teacher might look twice, in words; () where the rules see nothing."""
    known = _known(text)
    found = sorted(HURTFUL & set(known))
    told = [f"may hurt: “{', '.join(found)}”"] if found else []
    says_nothing = known and EMPTY_WORDS.issuperset(known)
    if says_nothing or len(text.split()) < FEWEST_WORDS:
        told.append("says hardly anything")
    elif not read(text, pointed=pointed).names_place:
        told.append("names no place")
    return tuple(told)


def _known(text: str) -> list[str]:
    return _WORD.findall(text.lower())
