"""What the papers of a critique say, as the plain figures that the reports print."""

from __future__ import annotations

from dataclasses import dataclass

from rubrics.critique import wording
from rubrics.critique.boxes import BOXES, starters
from rubrics.critique.facts import measured
from rubrics.models import Critique, Look
from rubrics.reports.critique_paper import BoxToWrite, FormSheet, Label, Protocol, SpeakingTurn
from studio.models import Piece
from studio.projects import piece_sheet

STARTERS_ON_PAPER = 2


@dataclass(frozen=True, slots=True)
class TimedTurn:
    """A turn as the large screen counts it down."""

    who: str
    what: str
    seconds: int

    @property
    def minutes_said(self) -> str:
        """“3:00”."""
        return f"{self.seconds // 60}:{self.seconds % 60:02d}"


def turns(critique: Critique) -> list[TimedTurn]:
    """The three turns of a piece, in their order."""
    return [
        TimedTurn("Everyone looks", "The maker is silent.", critique.maker_first_s),
        TimedTurn("The group speaks", "See, how it works, what for; then judge.", critique.group_s),
        TimedTurn(
            "The maker answers", "What will you keep, change, or not?", critique.maker_last_s
        ),
    ]


def labels(critique: Critique) -> list[Label]:
    """A wall label a piece, in the running order."""
    rows = _shown(critique)
    facts = measured([each.piece for each in rows])
    return [
        Label(
            number=each.position,
            code=each.piece.code,
            title=each.piece.title,
            maker="" if critique.names_hidden else each.piece.student.name,
            intent=each.piece.intent.strip(),
            lines=(_made_of(each.piece, facts.get(each.piece_id, [])), _looks_for(each.piece)),
        )
        for each in rows
    ]


def protocol(critique: Critique) -> Protocol:
    """The one page for the room."""
    rows = _shown(critique)
    return Protocol(
        project=critique.project.title,
        section=str(critique.project.section),
        kind=critique.get_kind_display(),
        turns=tuple(
            SpeakingTurn(each.who, each.what, each.minutes_said) for each in turns(critique)
        ),
        minutes=-(-len(rows) * sum(each.seconds for each in turns(critique)) // 60),
        boxes=tuple((box.number, box.title, box.step, box.ask) for box in BOXES),
        most_words=wording.MOST_WORDS,
        order=tuple((each.position, each.piece.code, each.piece.title) for each in rows),
    )


def forms(critique: Critique) -> list[FormSheet]:
    """A form a reading, in the order of the readers' names, as they are handed out."""
    looks = list(
        Look.objects.standing()
        .filter(shown__critique=critique)
        .select_related("reader", "shown__piece__student")
        .order_by("reader__name", "shown__position")
    )
    pieces = {look.shown.piece_id: look.shown.piece for look in looks}
    facts = measured(pieces.values())
    photos = {pk: _picture(piece) for pk, piece in pieces.items()}
    return [
        FormSheet(
            reader=look.reader.name,
            code=look.shown.piece.code,
            title=look.shown.piece.title,
            maker="" if critique.names_hidden else look.shown.piece.student.name,
            intent=look.shown.piece.intent.strip(),
            facts=tuple(facts.get(look.shown.piece_id, ())),
            photo=photos[look.shown.piece_id],
            boxes=_boxes(look.shown.piece),
            names_hidden=critique.names_hidden,
        )
        for look in looks
    ]


def _shown(critique: Critique):
    return list(critique.shown.select_related("piece__student", "piece__project__plan__clay"))


def _boxes(piece: Piece) -> tuple[BoxToWrite, ...]:
    begun = starters(piece)
    return tuple(
        BoxToWrite(box.number, box.title, box.ask, tuple(begun[box.key][:STARTERS_ON_PAPER]))
        for box in BOXES
    )


def _picture(piece: Piece) -> bytes | None:
    for photo in piece_sheet.photos_of(piece)[:1]:
        try:
            with photo.middle.open("rb") as opened:
                return opened.read()
        except OSError:
            return None
    return None


def _made_of(piece: Piece, facts: list[str]) -> str:
    """First line: clay, stage, one size."""
    plan = getattr(piece.project, "plan", None)
    clay = plan.clay.name if plan is not None and plan.clay is not None else ""
    found = next((fact for fact in facts if fact.startswith("Height: ")), "")
    size = f"{found.removeprefix('Height: ')} high" if found else ""
    return ", ".join(part for part in (clay, str(piece.stage), size) if part)


def _looks_for(piece: Piece) -> str:
    """Second line: where the maker wants the eye."""
    accent = piece.get_intent_accent_display()
    if accent:
        return f"Look first at {accent}."
    handle = piece.get_intent_handle_display()
    return f"Look at the handle, {handle}." if handle else "Where does your eye go first?"
