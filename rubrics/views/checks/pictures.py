"""A check as a page shows it: its drawing, and its finding in words, from plain facts."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from rubrics.checks.register import check_named
from rubrics.reports.drawings import draw
from rubrics.reports.result_json import Facts
from rubrics.reports.sentences import describe
from rubrics.reports.svg import to_svg

DRAWING_WIDTH = 300.0
"""What a sheet leaves on a phone of 360 px: a drawing is not shrunk there, and its words stay at
12 px or more. [px]"""


@dataclass(frozen=True, slots=True)
class CheckPicture:
    """One check, drawn and told."""

    name: str
    title: str
    svg: SafeString
    sentence: str


def picture(name: str, facts: Facts, sentence: str, *, uid: str) -> CheckPicture:
    """Draw a check beside its sentence; ``uid`` is unique on a page."""
    scene = draw(name, facts, width=DRAWING_WIDTH)
    title = check_named(name).title
    svg = to_svg(scene, title=title, desc=describe(name, facts), uid=f"{uid}-{name}")
    # Every word in the drawing was escaped when it was written.
    return CheckPicture(name=name, title=title, svg=mark_safe(svg), sentence=sentence)
