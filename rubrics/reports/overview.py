"""A class on paper: one page a project, counts without a name."""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from studio.lettering.fonts import SANS, register_fonts
from studio.lettering.setting import draw_line

from .drawings.level_share import level_share
from .palette import CLAY, EDGE, INK, SOFT
from .paper import styles
from .paper.blocks import Flowable, Gap, OnGround, Row, Rule, Stack
from .paper.sizes import page_size
from .portfolio import MARGIN
from .print_drawing import to_reportlab
from .wording import number

TEXT = 10.0
COUNT = 52.0
"""Width of a column of counts. [pt]"""
BAR_WIDTH = 250.0
"""Of a criterion's bar of levels. [pt]"""
FEW_OUTCOMES = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class CriterionSpread:
    """How many pieces stand at each level, 4 first, and how many are excused."""

    name: str
    levels: tuple[int, ...]
    excused: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckSpread:
    """How many pieces lie within the limits, too close to call, and outside."""

    name: str
    within: int
    too_close: int
    outside: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassMiss:
    """One thing that most of the class misses, with the share to expect of the next class.

    ``low`` and ``high`` bound the share, two-sided 95 %; ``side`` is "low", "high" or "".
    """

    name: str
    missed: int
    told: int
    low: float
    high: float
    side: str = ""

    @property
    def evidence_said(self) -> str:
        """ "20 of 23 miss it; of the next class, likely 66 to 97 in a hundred" """
        low, high = number(100 * self.low, 0), number(100 * self.high, 0)
        side = {"low": ", most too low", "high": ", most too high"}.get(self.side, "")
        return (
            f"{self.missed} of {self.told} miss it{side}; of a next class taught alike, "
            f"{low} to {high} in a hundred would"
        )

    @property
    def miss_said(self) -> str:
        """The same of a thing that has no side: a level, a rise."""
        low, high = number(100 * self.low, 0), number(100 * self.high, 0)
        return (
            f"{self.missed} of {self.told} miss it; of a next class taught alike, "
            f"{low} to {high} in a hundred would"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """One project of one class in counts."""

    section: str
    project: str
    number: int
    pieces: int
    judged: int
    published: int
    missing: int
    """Students without a piece."""
    in_work: int
    lost: int
    mean: float | None
    """Of the finished pieces' grades. [%]"""
    lowest: float | None
    highest: float | None
    criteria: tuple[CriterionSpread, ...]
    checks: tuple[CheckSpread, ...]
    outcomes: tuple[tuple[tuple[str, str], int], ...]
    again: tuple[ClassMiss, ...] = ()
    """Worth teaching again, the surest first, three at most."""
    plan: tuple[ClassMiss, ...] = ()
    """Missed by nearly all on one side: the plan or the template is the likely cause."""
    fired: bool = False
    """Whether any piece went through a kiln yet."""

    @property
    def grades_said(self) -> str:
        if self.mean is None or self.lowest is None or self.highest is None:
            return "No piece is judged whole yet."
        low, high = number(self.lowest, 0), number(self.highest, 0)
        return f"Grades from {low} to {high}%, on average {number(self.mean, 0)}%."

    @property
    def work_said(self) -> str:
        return (
            f"{self.pieces} pieces, {self.judged} judged, {self.published} published; "
            f"{self.in_work} still in work, {self.lost} lost or broken; "
            f"{self.missing} students without a piece."
        )

    @property
    def has_levels(self) -> bool:
        """Whether any mark was given yet."""
        return any(sum(each.levels) + each.excused for each in self.criteria)

    @property
    def excused(self) -> int:
        return sum(each.excused for each in self.criteria)


def overview_pdf(overviews: Iterable[Overview], *, pagesize: str = "letter") -> bytes:
    """Print a class's projects, one page each.

    Raises
    ------
    ValueError
        A page size that is not known, or no project.
    """
    size = page_size(pagesize)
    overviews = list(overviews)
    if not overviews:
        raise ValueError("No project has a piece and a rubric yet.")
    register_fonts()
    written = io.BytesIO()
    width, height = size
    canvas = Canvas(written, pagesize=(width, height), invariant=1, lang="en", initialFontName=SANS)
    canvas.setTitle(f"Class summary, {overviews[0].section}")
    canvas.setCreator("Rim & Reason")
    canvas.setAuthor("")
    room = width - 2 * MARGIN
    for place, overview in enumerate(overviews):
        canvas.bookmarkPage(f"project-{place}")
        canvas.addOutlineEntry(f"{overview.number} {overview.project}", f"project-{place}", 0)
        block = _page(overview)
        tall = block.wrap(room, height)[1]
        block.drawOn(canvas, MARGIN, height - MARGIN - tall)
        canvas.setFillColor(HexColor(SOFT))
        note = "Counts only: no name of a student stands on this page."
        draw_line(canvas, MARGIN, MARGIN - 9.0, note, size=8.0)
        canvas.showPage()
    canvas.save()
    return written.getvalue()


def _page(overview: Overview) -> Flowable:
    parts: list[Flowable] = [
        styles.heading(f"{overview.number}  {overview.project}", 18.0),
        styles.soft(overview.section, TEXT),
        Gap(5),
        Rule(1.2, INK),
        Gap(10),
        styles.plain(overview.work_said, TEXT),
        styles.plain(overview.grades_said, TEXT),
        Gap(12),
    ]
    again = [f"{each.name}: {each.miss_said}." for each in overview.again]
    parts += _asked("To teach again", again)
    plan = [f"{each.name}: {each.evidence_said}." for each in overview.plan]
    parts += _asked("Look at the plan or the template first", plan)
    if overview.has_levels:
        parts += _levels(overview.criteria)
    checks = [(each.name, (each.within, each.too_close, each.outside)) for each in overview.checks]
    if checks:
        parts += [Gap(14), *_counts("Checks", ("within", "too close", "outside"), checks)]
    parts += [Gap(14), styles.label("What drying and the kiln did", TEXT)]
    outcomes = [
        styles.plain(f"{count} × {kind} ({doing})", TEXT)
        for (kind, doing), count in overview.outcomes[:FEW_OUTCOMES]
    ]
    nothing = "Nothing was noted." if overview.fired else "Nothing was fired yet."
    return Stack([*parts, *(outcomes or [styles.plain(nothing, TEXT)])])


def _asked(heading: str, lines: list[str]) -> list[Flowable]:
    if not lines:
        return []
    told = [styles.plain(line, TEXT) for line in lines]
    return [OnGround(Stack([styles.label(heading, TEXT), *told])), Gap(12)]


def _levels(criteria: Iterable[CriterionSpread]) -> list[Flowable]:
    """A bar of levels a criterion: the share of the pieces at each, 4 at the left."""
    parts: list[Flowable] = [styles.label("Levels by criterion, 4 at the left", TEXT), Gap(4)]
    for each in criteria:
        scene = to_reportlab(level_share(each.levels), width=BAR_WIDTH)
        note = styles.to_right(f"{each.excused} excused" if each.excused else "", TEXT - 1)
        name = styles.plain(each.name, TEXT, most_lines=2)
        parts += [Row([name, scene, note], [None, BAR_WIDTH, COUNT], 8.0), Gap(3)]
    return parts


def _counts(
    heading: str, heads: tuple[str, ...], rows: list[tuple[str, tuple[int, ...]]]
) -> list[Flowable]:
    """A table of counts; a nought is a dot, so that the eye finds what is there."""
    widths = [None, *([COUNT] * len(heads))]
    top = [styles.label(heading, TEXT), *(styles.to_right(h, TEXT - 1, colour=SOFT) for h in heads)]
    parts: list[Flowable] = [Row(top, widths, 0.0)]
    for name, counts in rows:
        cells = [styles.plain(name, TEXT, most_lines=2)]
        cells += [styles.to_right(str(n) if n else "·", TEXT, colour=INK) for n in counts]
        parts += [Rule(0.5, EDGE), Gap(2.5), Row(cells, widths, 0.0), Gap(2.5)]
    return [*parts, Rule(0.8, CLAY)]
