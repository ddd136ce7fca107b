"""What a judging page shows of one mark: its state in a word, and where its tile stands."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rubrics.checks.register import check_named, figure_of
from rubrics.craft.results import Refused
from rubrics.judging.batch import Batch
from rubrics.judging.piece_state import checks_of, outcome_words, stages_read
from rubrics.judging.suggestions import Suggested
from rubrics.models import Criterion, Mark
from rubrics.reports.wording import size as say_size
from studio.models import Photo, Piece, Project
from studio.ware.stages import STAGE_PLACE
from studio.ware.uncertainty import COVERAGE_FACTOR

BOARD, ASIDE = "board", "aside"
"""Where tiles stand that have no level: not judged yet, and excused."""

OPEN, SUGGESTED, PLACED, KEPT, UP, DOWN, EXCUSED = (
    "open",
    "suggested",
    "placed",
    "kept",
    "up",
    "down",
    "excused",
)


@dataclass(frozen=True, slots=True)
class MarkState:
    """How a mark stands, told by one word for the style sheet and a few for the eye."""

    word: str
    words: str
    level: int | None
    place: str
    """ "4" .. "1", "board" or "aside"."""
    wants_reason: bool
    sent: bool


def state_of(mark: Mark | None, suggested: Suggested | None, *, sent: bool) -> MarkState:
    """Tell how a mark stands beside its suggestion.

    A decided mark is read against the suggestion as it stood when it was decided.
    """
    if mark is None or not mark.decided:
        if suggested is None:
            return MarkState(OPEN, "to judge", None, BOARD, False, sent)
        return MarkState(SUGGESTED, "suggested", None, str(suggested.level), False, sent)
    also = ", sent" if sent else ""
    if mark.excused:
        return MarkState(EXCUSED, f"excused{also}", None, ASIDE, mark.wants_reason, sent)
    level = mark.level.number
    if mark.suggested is None:
        word, words = PLACED, "placed"
    elif level == mark.suggested:
        word, words = KEPT, "kept"
    else:
        word = UP if level > mark.suggested else DOWN
        words = f"{word} from {mark.suggested}"
    return MarkState(word, f"{words}{also}", level, str(level), mark.wants_reason, sent)


def payload(piece: Piece, mark: Mark, *, suggested: Suggested | None = None) -> Mapping:
    """A mark as a page's script takes it; ``mark`` with its assessment and level attached."""
    return _payload(
        piece,
        mark,
        state_of(mark, suggested, sent=mark.assessment.published_at is not None),
        mark.assessment.version,
    )


def payload_of(batch: Batch, piece: Piece, criterion: Criterion) -> Mapping:
    """The same from a batch, where there may be no mark."""
    mark = batch.marks.get((piece.pk, criterion.pk))
    suggested = batch.suggested(piece, criterion)
    state = state_of(mark, suggested, sent=batch.is_published(piece))
    version = batch.version(piece)
    return _payload(piece, mark, state, version, criterion_id=criterion.pk)


def reason_words(mark: Mark | None) -> str:
    """The reason as its giver reads it; "" where there is none."""
    if mark is None or not mark.decided:
        return ""
    label = mark.get_reason_display() if mark.reason else ""
    return ": ".join(part for part in (label, mark.reason_text) if part)


def _payload(
    piece: Piece,
    mark: Mark | None,
    state: MarkState,
    version: int,
    *,
    criterion_id: int | None = None,
) -> Mapping:
    return {
        "piece": piece.pk,
        "criterion": mark.criterion_id if mark else criterion_id,
        "code": piece.code,
        "version": version,
        "sent": state.sent,
        "excused": bool(mark and mark.excused),
        "state": state.word,
        "words": state.words,
        "level": state.level,
        "place": state.place,
        "wants_reason": state.wants_reason,
        "was_suggested": mark.suggested if mark else None,
        "reason": mark.reason if mark else "",
        "reason_text": mark.reason_text if mark else "",
        "reason_words": reason_words(mark),
        "note": mark.note if mark else "",
    }


@dataclass(frozen=True, slots=True)
class CriterionRow:
    """A criterion with how far it is judged and which checks it leans on."""

    criterion: Criterion
    done: int
    percent: int
    leans_on: str


def criterion_rows(batch: Batch) -> list[CriterionRow]:
    """Every criterion of a batch."""
    progress = batch.progress()
    return [
        CriterionRow(
            criterion,
            progress.done[criterion.pk],
            round(100 * progress.done[criterion.pk] / max(1, progress.pieces)),
            leans_on(criterion),
        )
        for criterion in batch.criteria
    ]


def leans_on(criterion: Criterion) -> str:
    """The same in words; "" for a criterion judged by eye."""
    return ", ".join(check_named(check).part for check in checks_of(criterion))


MINI_WIDTH, MINI_DOT = 100.0, 5.0
MINI_BEYOND = 1.3
"""The axis of a tile's small drawing ends at this many times the last limit."""


@dataclass(frozen=True, slots=True)
class Mini:
    """The small drawing on a tile: three limits, and the figure with its doubt among them.

    Every tile of a criterion that shows the same figure has the same axis, so that tiles compare.
    """

    edges: tuple[float, ...]
    low: float
    width: float
    dot: float
    """Where the dot of the figure begins."""


def mini(batch: Batch, piece: Piece, criterion: Criterion, suggested: Suggested) -> Mini | None:
    """Lay out the small drawing of the deciding figure; None where its limits are all nought."""
    limit = next(each for each in criterion.limits.all() if each.figure == suggested.figure)
    reach = MINI_BEYOND * float(limit.c)
    if reach <= 0:
        return None
    doubt = COVERAGE_FACTOR * _u(batch, piece, suggested)

    def across(size: float) -> float:
        return round(min(max(size, 0.0), reach) / reach * MINI_WIDTH, 1)

    low = across(suggested.size - doubt)
    return Mini(
        edges=tuple(across(float(bound)) for bound in (limit.a, limit.b, limit.c)),
        low=low,
        width=round(across(suggested.size + doubt) - low, 1),
        dot=round(across(suggested.size) - MINI_DOT / 2, 1),
    )


def figure_words(criterion: Criterion, suggested: Suggested) -> str:
    """The deciding figure, as "1.4 mm"; its doubt is drawn under it and said in the hand.

    A criterion that leans on several figures names the one that decides.
    """
    size = say_size(suggested.figure.partition(".")[2], suggested.size)
    if len(criterion.limits.all()) == 1:
        return size
    return f"{figure_of(suggested.figure).short} {size}".strip()


def _u(batch: Batch, piece: Piece, suggested: Suggested) -> float:
    result = batch.evidence.of(piece)[suggested.check]
    name = suggested.figure.partition(".")[2]
    return 0.0 if isinstance(result, Refused) else getattr(result, f"u_{name}", None) or 0.0


def remarks(piece: Piece) -> list[str]:
    """What a judge should know of a piece before anything is said of its maker."""
    return [piece.get_state_display()] if piece.state == Piece.State.BROKEN else []


@dataclass(frozen=True, slots=True)
class PieceTile:
    """One piece on the shelves of one criterion."""

    piece: Piece
    state: MarkState
    version: int
    photo: int | None
    figure: str
    suggested: Suggested | None
    order: int
    mini: Mini | None
    remark: str
    payload: str
    """The mark as the page's script takes it, JSON."""
    beside: str = ""
    """The stage of the readings that the criterion leans on, and what came of the piece."""


def tile(batch: Batch, piece: Piece, criterion: Criterion, *, order: int, photo: int | None):
    """Make the tile of one piece."""
    suggested = batch.suggested(piece, criterion)
    state = state_of(batch.mark(piece, criterion), suggested, sent=batch.is_published(piece))
    remark = "in question" if suggested and suggested.in_question else ""
    outcomes = filter(None, [outcome_words(batch.evidence.outcomes.get(piece.pk, ()))])
    return PieceTile(
        piece=piece,
        state=state,
        version=batch.version(piece),
        photo=photo,
        figure=figure_words(criterion, suggested) if suggested else "",
        suggested=suggested,
        order=order,
        mini=mini(batch, piece, criterion, suggested) if suggested else None,
        remark=", ".join([*remarks(piece), *([remark] if remark else [])]),
        payload=json.dumps(payload_of(batch, piece, criterion)),
        beside=", ".join([*stages_read(batch, piece, criterion), *outcomes]),
    )


def best_photos(project: Project) -> dict[int, int]:
    """The photo that shows a piece best, by piece id, in one query.

    The latest stage counts, then the side before the top, then the last one taken.
    """
    best: dict[int, tuple] = {}
    rows = Photo.objects.filter(piece__project=project)
    for pk, piece_id, stage, view in rows.values_list("pk", "piece_id", "stage", "view"):
        rank = (STAGE_PLACE.get(stage, -1), view == Photo.View.SIDE, pk)
        best[piece_id] = max(best.get(piece_id, rank), rank)
    return {piece_id: rank[-1] for piece_id, rank in best.items()}


def photos_of(piece: Piece) -> list[Photo]:
    """A piece's photos, the best one first."""
    return sorted(
        piece.photos.all(),
        key=lambda photo: (
            STAGE_PLACE.get(photo.stage, -1),
            photo.view == Photo.View.SIDE,
            photo.pk,
        ),
        reverse=True,
    )


def shuffled(pieces: Iterable[Piece], *, reader_id: int, criterion: Criterion) -> list[Piece]:
    """Pieces in an order that looks random, and is the same each time for one reader.

    What was seen just before colours a judgement, so no piece should always follow the same
    neighbour: every criterion has another order, and so has every reader (common practice, no
    source for pottery).
    """

    def key(piece: Piece) -> bytes:
        return hashlib.sha256(f"{reader_id}:{criterion.pk}:{piece.pk}".encode()).digest()

    return sorted(pieces, key=key)


def walk(batch: Batch, criterion: Criterion, *, reader_id: int) -> list[Piece]:
    """The order in which pieces stand for one criterion.

    What was measured comes in order of the measure, best first; the rest in the reader's own
    shuffled order.
    """
    pieces = shuffled(batch.to_judge, reader_id=reader_id, criterion=criterion)
    acceptable = {limit.figure: float(limit.b) for limit in criterion.limits.all()}

    def share(found: Suggested) -> float:
        # Different figures may decide for different pieces: only their shares of a limit compare.
        return found.size / (acceptable.get(found.figure) or 1.0)

    measured_pieces = {
        piece.pk: (-found.level, share(found))
        for piece in pieces
        if (found := batch.suggested(piece, criterion)) is not None
    }
    after_all_measured = (1, 0.0)
    return sorted(pieces, key=lambda piece: measured_pieces.get(piece.pk, after_all_measured))
