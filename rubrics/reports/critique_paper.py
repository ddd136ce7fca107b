"""Papers of a critique: wall labels to cut, a protocol for the room, forms to write on by hand."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from studio.lettering.fonts import SANS, SANS_STRONG, SERIF_STRONG, register_fonts
from studio.lettering.setting import cleaned, draw_line, width_of

from .palette import CLAY, EDGE, INK, SOFT
from .paper import styles
from .paper.blocks import Gap, OnGround, Row, Rule, Stack
from .paper.paragraphs import TALL_LEADING, Words
from .paper.photos import placed, readable
from .paper.sizes import page_size
from .portfolio import MARGIN

TEXT, SMALL = 10.0, 8.5
LABEL_INTENT, LABEL_LINE = 12.0, 9.0
COLUMNS, ROWS = 2, 4
"""Labels a page: as large as a hand."""
INSET = 14.0
"""From a label's cut line to its words. [pt]"""
LINE_APART = 21.0
"""Between two lines to write on: a soft pencil and a young hand. [pt]"""
PHOTO = (190.0, 142.0)
"""Frame of the photo on a form. [pt]"""
ORDER_COLUMNS = 3
GUTTER = 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A wall label. ``maker`` is "" where names are hidden."""

    number: int
    code: str
    title: str
    maker: str
    intent: str
    lines: tuple[str, str]


@dataclass(frozen=True, slots=True)
class SpeakingTurn:
    """Who has the word, what for, how long."""

    who: str
    what: str
    minutes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Protocol:
    """What hangs in the room."""

    project: str
    section: str
    kind: str
    turns: tuple[SpeakingTurn, ...]
    minutes: int
    boxes: tuple[tuple[int, str, str, str], ...]
    """Number, title, the trade's word, what it asks."""
    most_words: int
    order: tuple[tuple[int, str, str], ...]
    """Place, code, title."""


@dataclass(frozen=True, slots=True)
class BoxToWrite:
    """A box on a form."""

    number: int
    title: str
    ask: str
    starters: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FormSheet:
    """One reading, to be written by hand. ``photo`` holds the bytes of a picture, or None."""

    reader: str
    code: str
    title: str
    maker: str
    intent: str
    facts: tuple[str, ...]
    photo: bytes | None
    boxes: tuple[BoxToWrite, ...]
    names_hidden: bool


class _Pages:
    """A PDF under way."""

    def __init__(self, title: str, pagesize: str) -> None:
        self.width, self.height = page_size(pagesize)
        register_fonts()
        self._bytes = io.BytesIO()
        self.canvas = Canvas(
            self._bytes,
            pagesize=(self.width, self.height),
            invariant=1,
            lang="en",
            initialFontName=SANS,
        )
        self.canvas.setTitle(title)
        self.canvas.setCreator("Rim & Reason")
        self.canvas.setAuthor("")

    def draw(self, block: Flowable, x: float, top: float, room: float) -> float:
        """Draw a block below ``top``; where it ends."""
        tall = block.wrap(room, self.height)[1]
        block.drawOn(self.canvas, x, top - tall)
        return top - tall

    def bytes(self) -> bytes:
        self.canvas.save()
        return self._bytes.getvalue()


def labels_pdf(labels: Iterable[Label], *, pagesize: str = "letter") -> bytes:
    """Wall labels, eight a page, with lines to cut along.

    Raises
    ------
    ValueError
        No label, or a page size that is not known.
    """
    labels = list(labels)
    if not labels:
        raise ValueError("There is no piece to print a label for.")
    pages = _Pages("Wall labels", pagesize)
    wide = (pages.width - 2 * MARGIN) / COLUMNS
    tall = (pages.height - 2 * MARGIN) / ROWS
    count = COLUMNS * ROWS
    for start in range(0, len(labels), count):
        for place, label in enumerate(labels[start : start + count]):
            row, column = divmod(place, COLUMNS)
            x, top = MARGIN + column * wide, pages.height - MARGIN - row * tall
            pages.canvas.setStrokeColor(HexColor(EDGE))
            pages.canvas.setLineWidth(0.4)
            pages.canvas.rect(x, top - tall, wide, tall)
            _label(pages, label, x + INSET, top - INSET, (wide - 2 * INSET, tall - 2 * INSET))
        pages.canvas.showPage()
    return pages.bytes()


def _label(pages: _Pages, label: Label, x: float, top: float, room: tuple[float, float]) -> None:
    wide, tall = room
    name = Words(label.title or label.code, 16.0, font=SERIF_STRONG, leading=1.15, most_lines=2)
    y = pages.draw(name, x, top, wide)
    if label.maker:
        y = pages.draw(styles.soft(label.maker, TEXT, most_lines=1), x, y - 1, wide)
    foot = Stack(
        [styles.plain(line, LABEL_LINE, most_lines=1) for line in label.lines if line]
        + [_ends(f"{label.number}", label.code)]
    )
    foot_tall = foot.wrap(wide, tall)[1]
    bottom = top - tall
    foot.drawOn(pages.canvas, x, bottom)
    left = y - bottom - foot_tall - 12
    lines = int(left // (LABEL_INTENT * TALL_LEADING))
    if label.intent and lines > 0:
        pages.draw(
            Words(f"“{label.intent}”", LABEL_INTENT, most_lines=lines, colour=INK), x, y - 6, wide
        )


def _ends(left: str, right: str) -> Flowable:
    return Row(
        [styles.label(left, SMALL), styles.to_right(right, SMALL, colour=SOFT)], [None, 90.0], 4.0
    )


def protocol_pdf(protocol: Protocol, *, pagesize: str = "letter") -> bytes:
    """How the critique goes, on one page."""
    pages = _Pages(f"Critique, {protocol.project}", pagesize)
    room = pages.width - 2 * MARGIN
    parts: list[Flowable] = [
        styles.heading(f"Critique: {protocol.project}", 20.0),
        styles.soft(f"{protocol.section}. A critique {protocol.kind}.", TEXT),
        Gap(5),
        Rule(1.2, INK),
        Gap(10),
        styles.label("Three turns a piece", 11.0),
        Gap(3),
    ]
    for turn in protocol.turns:
        cells = [
            styles.strong(turn.minutes, 13.0),
            styles.strong(turn.who, 11.5),
            styles.plain(turn.what, 11.0),
        ]
        parts += [Row(cells, [40.0, 140.0, None], 8.0), Gap(4)]
    pieces = len(protocol.order)
    parts += [
        styles.soft(f"{pieces} pieces, about {protocol.minutes} minutes without pauses.", TEXT),
        Gap(12),
        styles.label("What is said, in this order", 11.0),
        Gap(3),
    ]
    for number, title, step, ask in protocol.boxes:
        said = Stack([styles.strong(f"{title} ({step})", 11.0), styles.plain(ask, TEXT)])
        parts += [Row([styles.strong(str(number), 13.0), said], [22.0, None], 6.0), Gap(5)]
    rules = (
        "Speak to the piece, not about its maker.",
        "Say where on the piece you see it, and why.",
        f"One thing at a time; on paper, no more than {protocol.most_words} words a box.",
        "The maker listens first, then says what to keep, change, or leave.",
    )
    parts += [
        Gap(6),
        OnGround(Stack([styles.plain(rule, 11.0) for rule in rules])),
        Gap(12),
        styles.label("Running order", 11.0),
        Gap(3),
    ]
    y = pages.draw(Stack(parts), MARGIN, pages.height - MARGIN, room)
    _order(pages, protocol.order, y, room)
    pages.canvas.showPage()
    return pages.bytes()


def _order(pages: _Pages, order: Sequence[tuple[int, str, str]], top: float, room: float) -> None:
    """The pieces in columns, in letters as large as the rest of the page allows."""
    rows = -(-len(order) // ORDER_COLUMNS)
    wide = (room - GUTTER * (ORDER_COLUMNS - 1)) / ORDER_COLUMNS
    each = min(TEXT * 1.6, (top - MARGIN) / max(rows, 1))
    size = min(TEXT, each / 1.28)
    for place, (number, code, title) in enumerate(order):
        column, row = divmod(place, rows)
        words = f"{number}  {code}" + (f"  {title}" if title else "")
        line = styles.plain(words, size, most_lines=1)
        pages.draw(line, MARGIN + column * (wide + GUTTER), top - row * each, wide)


def forms_pdf(forms: Iterable[FormSheet], *, pagesize: str = "letter") -> bytes:
    """Forms to write on by hand, one page a reading.

    Raises
    ------
    ValueError
        Nobody reads anything, or a page size that is not known.
    """
    forms = list(forms)
    if not forms:
        raise ValueError("Nobody has a piece to read yet.")
    pages = _Pages("Critique forms", pagesize)
    ready: dict[int, list[bytes]] = {}
    for form in forms:
        if form.photo is not None and id(form.photo) not in ready:
            ready[id(form.photo)] = readable([form.photo])
        photo = next(iter(ready.get(id(form.photo), ())), None)
        _form(pages, form, photo)
        pages.canvas.showPage()
    return pages.bytes()


def _form(pages: _Pages, form: FormSheet, photo: bytes | None) -> None:
    room = pages.width - 2 * MARGIN
    top = pages.height - MARGIN
    name = f"{form.code}  “{form.title}”" if form.title else form.code
    head = Row([styles.heading(name, 17.0), styles.to_right(form.reader, TEXT)], [None, 170.0], 8.0)
    y = pages.draw(Stack([head, Gap(4), Rule(1.2, INK), Gap(8)]), MARGIN, top, room)
    beside = [styles.label("What its maker wants of it", TEXT)]
    if form.maker:
        beside.insert(0, styles.soft(f"by {form.maker}", TEXT))
    intent = f"“{form.intent}”" if form.intent else "Not said yet."
    beside += [styles.plain(intent, TEXT, most_lines=5), Gap(5)]
    if form.facts:
        beside.append(styles.label("What was measured", TEXT))
        beside += [styles.plain(fact, SMALL, most_lines=1) for fact in form.facts[:6]]
    if photo is not None:
        picture = placed(photo, *PHOTO)
        picture.drawOn(pages.canvas, MARGIN, y - picture.drawHeight)
        end = pages.draw(Stack(beside), MARGIN + PHOTO[0] + GUTTER, y, room - PHOTO[0] - GUTTER)
        y = min(end, y - picture.drawHeight)
        note = "Write a box's number on the picture where its words point."
    else:
        y = pages.draw(Stack(beside), MARGIN, y, room)
        note = "Say in words where you look: rim, wall, handle, seam, foot, inside."
    y = pages.draw(Stack([Gap(4), styles.soft(note, SMALL), Gap(8)]), MARGIN, y, room)
    _boxes(pages, form, y, room)
    hidden = ", without your name" if form.names_hidden else ""
    _foot(pages, f"Your teacher reads this first and passes it on{hidden}.")


def _boxes(pages: _Pages, form: FormSheet, top: float, room: float) -> None:
    """The boxes share what is left of the page; each has as many lines as fit."""
    each = (top - MARGIN - 12.0) / len(form.boxes)
    for place, box in enumerate(form.boxes):
        y = top - place * each
        bottom = y - each + 8.0
        title = f"{box.number}  {box.title}"
        title_width = width_of(title, 11.0, SANS_STRONG) + 8.0
        pages.draw(styles.strong(title, 11.0), MARGIN, y, room)
        ask = styles.soft(box.ask, SMALL, most_lines=1)
        pages.draw(ask, MARGIN + title_width, y - 2.5, room - title_width)
        y -= 15.0
        if box.starters:
            begun = "   ·   ".join(box.starters)
            y = pages.draw(styles.soft(begun, SMALL, most_lines=1), MARGIN, y, room)
        y -= LINE_APART * 0.85
        pages.canvas.setStrokeColor(HexColor(EDGE))
        pages.canvas.setLineWidth(0.5)
        while y >= bottom:
            pages.canvas.line(MARGIN, y, MARGIN + room, y)
            y -= LINE_APART


def _foot(pages: _Pages, words: str) -> None:
    words, _ = cleaned(words)
    pages.canvas.setFillColor(HexColor(CLAY))
    draw_line(pages.canvas, MARGIN, MARGIN - 9.0, words, size=8.0)
