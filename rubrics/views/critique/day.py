"""The critique day: one large screen with timed turns, and what goes on paper."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET

from rubrics.critique import doors, papers
from rubrics.models import Critique, Remark, Shown
from rubrics.reports.critique_paper import forms_pdf, labels_pdf, protocol_pdf
from rubrics.reports.paper.sizes import PAGE_SIZES
from rubrics.views.critique.pictures import pictures
from rubrics.views.critique.receiving import full_photo
from studio.projects import piece_sheet
from studio.web.row_ids import row_id

PAPERS = ("forms", "labels", "protocol")


@require_GET
def critique_day(request: HttpRequest, critique_id: int) -> HttpResponse:
    """The piece whose turn it is, its intent, pins and words; ``?piece=`` chooses it."""
    critique = doors.get_taught_critique(request.user, critique_id)
    order = list(critique.shown.select_related("piece__student"))
    asked = row_id(request.GET.get("piece", ""))
    at = next((n for n, each in enumerate(order) if each.piece_id == asked), 0)
    now = order[at]
    context = {
        "critique": critique,
        "project": critique.project,
        "order": order,
        "now": now,
        "piece": now.piece,
        "place": at + 1,
        "before": order[at - 1].piece if at else None,
        "after": order[at + 1].piece if at + 1 < len(order) else None,
        "turns": papers.turns(critique),
    } | _words(now)
    return TemplateResponse(request, "rubrics/critique/day.html", context)


@require_GET
def critique_day_words(request: HttpRequest, critique_id: int, piece_id: int) -> HttpResponse:
    """Pins and words of the piece on the screen, as they come; a fragment."""
    critique = doors.get_taught_critique(request.user, critique_id)
    now = get_object_or_404(critique.shown.select_related("piece"), piece=piece_id)
    return TemplateResponse(request, "rubrics/critique/day_words.html", _words(now))


def _words(now: Shown) -> dict:
    """What came through, without a name: the room reads it."""
    came = list(enumerate(_passed(now), start=1))
    photos = piece_sheet.photos_of(now.piece)
    drawn = pictures(photos, came, full_photo)
    # One photo fills the screen: the one that most pins point at, else the one that stands for it.
    main = max(drawn, key=lambda each: len(each.pins), default=None)
    return {"came": came, "picture": main, "piece": now.piece}


def _passed(now: Shown):
    return Remark.objects.passed().filter(look__shown=now).order_by("ruled_at", "pk")


@require_GET
def critique_paper(request: HttpRequest, critique_id: int, sheet_name: str) -> HttpResponse:
    """Wall labels, the protocol or forms to write on, as a PDF; ``?paper=`` letter or a4."""
    critique = doors.get_taught_critique(request.user, critique_id)
    if sheet_name not in PAPERS:
        raise Http404("There is no such paper.")
    asked = request.GET.get("paper", "")
    size = asked if asked in PAGE_SIZES else "letter"
    document = _print(critique, sheet_name, size)
    response = HttpResponse(document, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="critique-{sheet_name}.pdf"'
    return response


def _print(critique: Critique, sheet: str, size: str) -> bytes:
    if sheet == "labels":
        return labels_pdf(papers.labels(critique), pagesize=size)
    if sheet == "protocol":
        return protocol_pdf(papers.protocol(critique), pagesize=size)
    return forms_pdf(papers.forms(critique), pagesize=size)
