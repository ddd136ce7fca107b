"""Checks as fragments for other pages: of a piece, at the end of a row, of a whole sheet."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET

from rubrics.access import read_pieces
from rubrics.checks.advice import advice_on
from rubrics.checks.register import checks
from rubrics.craft.results import Refused
from rubrics.critique.counts import waiting_by_project, waiting_in
from rubrics.evidence.check_facts import facts_by_check
from rubrics.evidence.collect import Evidence, evidence
from rubrics.judging.batch import NoRubric, progress, progress_by_project
from rubrics.reports.result_json import as_facts
from rubrics.reports.sentences import phrase, sentence
from rubrics.views.checks.pictures import CheckPicture, picture
from studio import access
from studio.models import Piece
from studio.ware.stages import STAGES
from studio.web.row_ids import row_id

NO_VERDICT = "none"


@dataclass(frozen=True, slots=True)
class CheckFragment:
    """A check of a piece with where its readings come from and what is asked of them."""

    picture: CheckPicture
    stage: str
    origin: str
    questions: tuple[str, ...]
    advice: str
    """What to do: to the piece while its clay takes it, else next time."""


@dataclass(frozen=True, slots=True)
class RowEnd:
    """The end of a row: a verdict's word (or "none"), and what to say beside it."""

    verdict: str
    words: str
    is_refused: bool
    in_question: bool


@require_GET
def piece_checks(request: HttpRequest, piece_id: int) -> HttpResponse:
    """All checks of a piece, drawn and told; ``?stage=`` asks for one stage."""
    piece = get_object_or_404(read_pieces(request.user), pk=piece_id)
    found = evidence(piece.project, pieces=[piece], stage=_stage(request))
    shown = [
        CheckFragment(
            picture=picture(name, facts, sentence(name, facts), uid=f"p{piece.pk}"),
            stage=facts["stage"],
            origin=found.origin(piece, name),
            questions=found.questions(piece, name),
            advice=advice_on(name, facts),
        )
        for name, facts in facts_by_check(found, piece, refused=True).items()
    ]
    return TemplateResponse(request, "rubrics/parts/checks.html", {"checks": shown})


@require_GET
def row_check(request: HttpRequest, piece_id: int, check: str) -> HttpResponse:
    """One short line for the end of a row: the verdict's word and the figure, or nothing yet."""
    piece = get_object_or_404(read_pieces(request.user), pk=piece_id)
    found = evidence(piece.project, pieces=[piece], stage=_stage(request))
    return HttpResponse(_row_end(found, piece, _known(check)))


@require_GET
def rows_check(request: HttpRequest, project_id: int, check: str) -> JsonResponse:
    """The same line for every piece of a project, as JSON: markup by piece id."""
    visible = access.projects(request.user).select_related("section", "plan__clay")
    project = get_object_or_404(visible, pk=project_id)
    found = evidence(project, stage=_stage(request))
    name = _known(check)
    return JsonResponse({str(piece.pk): _row_end(found, piece, name) for piece in found.pieces})


@require_GET
def judge_state(request: HttpRequest, project_id: int) -> HttpResponse:
    """How far judging and telling are, for the project's page; ``?step=`` judge or tell alone."""
    visible = access.projects(request.user).select_related("section")
    project = get_object_or_404(visible, pk=project_id)
    try:
        now = progress(project)
    except NoRubric:
        now = None
    step = request.GET.get("step")
    may_change = access.may_change(request.user, project.section)
    context = {
        "project": project,
        "progress": now,
        "judge": step != "tell",
        "tell": step != "judge",
        "label": step not in ("judge", "tell"),
        "may_change": may_change,
        "at_the_gate": waiting_in(project) if may_change else 0,
    }
    return TemplateResponse(request, "rubrics/parts/judge_state.html", context)


@require_GET
def today_judging(request: HttpRequest) -> HttpResponse:
    """What waits to be judged and sent, and the first page's counts of both, all projects at once.

    ``?more=1`` says that something more urgent stands above; ``?project=`` asks of one alone,
    without the counts.
    """
    shown = access.projects(request.user).select_related("section").order_by("-pk")
    asked = row_id(request.GET.get("project", ""))
    shown = shown.filter(section__archived_at=None) if asked is None else shown.filter(pk=asked)
    projects = list(shown)
    taught = set(access.taught_sections(request.user).values_list("pk", flat=True))
    found = progress_by_project(projects)
    with_pieces = set(
        Piece.objects.filter(project__in=projects).values_list("project", flat=True).distinct()
    )
    own = [each for each in projects if each.section_id in taught]
    held = waiting_by_project(own)
    context = {
        "rows": []
        if asked is not None
        else [(each, found.get(each.pk), each.section_id in taught) for each in projects],
        "to_send": [
            (each, found[each.pk]) for each in own if each.pk in found and found[each.pk].ready
        ],
        "to_judge": [
            (each, found[each.pk]) for each in own if each.pk in found and found[each.pk].to_judge
        ],
        "without_rubric": [each for each in own if each.pk not in found and each.pk in with_pieces],
        "at_the_gate": [(each, held[each.pk]) for each in own if held[each.pk]],
        "alone": asked is not None,
        "more": request.GET.get("more") == "1",
    }
    return TemplateResponse(request, "rubrics/parts/today_judging.html", context)


def _row_end(found: Evidence, piece: Piece, name: str) -> str:
    result = found.of(piece).get(name)
    if result is None:
        return ""
    facts = as_facts(result)
    refused = isinstance(result, Refused)
    end = RowEnd(
        verdict=NO_VERDICT if refused else result.verdict or NO_VERDICT,
        words=result.sentence if refused else phrase(name, facts),
        is_refused=refused,
        in_question=bool(found.questions(piece, name)),
    )
    return render_to_string("rubrics/parts/row_end.html", {"end": end}).strip()


def _stage(request: HttpRequest) -> str | None:
    """The stage asked for; None, each check's latest, for none or one that is not known."""
    asked = request.GET.get("stage", "")
    return asked if asked in STAGES else None


def _known(check: str) -> str:
    """The check's name; an address writes it with hyphens or without."""
    name = check.replace("-", "_")
    if name not in checks():
        raise Http404("There is no such check.")
    return name
