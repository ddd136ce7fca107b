"""Finding a student, a piece or a project by a few letters or a code."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Prefetch

from studio import access
from studio.models import Enrolment, Piece, Project, Student

LONGEST, MOST = 60, 20
"""Letters that are looked for, and finds of one kind that are shown."""


@dataclass(frozen=True, slots=True)
class Matches:
    """What fits, the nearest first; ``more`` says that some are not shown."""

    students: list[Student]
    pieces: list[Piece]
    projects: list[Project]
    more: bool

    @property
    def only(self) -> Student | Piece | Project | None:
        """The one find, where there is just one."""
        every = [*self.students, *self.pieces, *self.projects]
        return every[0] if len(every) == 1 else None


def plain(words: str) -> str:
    """Letters as they are compared: without case and without what stands above or below them."""
    apart = unicodedata.normalize("NFKD", words.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def fits(name: str, wanted: Iterable[str]) -> bool:
    """Whether every wanted word begins a word of the name."""
    parts = plain(name).replace("-", " ").split()
    return all(any(part.startswith(each) for part in parts) for each in wanted)


def find(user, words: str) -> Matches:
    """Students, pieces and projects that a user may read and whose name or code fits.

    Seven queries at most, however many there are.
    """
    wanted = plain(words[:LONGEST]).replace("-", " ").split()
    if not wanted:
        return Matches([], [], [], more=False)
    students = _named(access.students(user), "name", wanted)
    pieces = _coded(access.pieces(user), words[:LONGEST], wanted)
    projects = _named(access.projects(user), "title", wanted)
    where = Enrolment.objects.now().select_related("section")
    return Matches(
        list(
            Student.objects.filter(pk__in=students[:MOST]).prefetch_related(
                Prefetch("enrolments", where, to_attr="now_in")
            )
        ),
        list(Piece.objects.filter(pk__in=pieces[:MOST]).for_list().select_related("section")),
        list(Project.objects.filter(pk__in=projects[:MOST]).select_related("section")),
        more=max(map(len, (students, pieces, projects))) > MOST,
    )


def _named(rows, field: str, wanted: list[str]) -> list[int]:
    return [pk for pk, name in rows.values_list("pk", field) if fits(name, wanted)]


def _coded(pieces, words: str, wanted: list[str]) -> list[int]:
    """By the beginning of a code as it is written on the foot, else by the piece's own title.

    A code in whole is that piece alone: K3-02 is not also K3-021.
    """
    code = words.strip().upper().replace(" ", "")
    rows = list(pieces.values_list("pk", "code", "title"))
    whole = [pk for pk, own, _ in rows if own.upper() == code]
    return whole or [
        pk
        for pk, own, title in rows
        if own.upper().startswith(code) or (title and fits(title, wanted))
    ]
