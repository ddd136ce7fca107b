"""A second look: opened by the teacher, judged blind by its reader, told when it is closed."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
    require_safe,
)

from rubrics import access as doors
from rubrics.evidence.check_facts import facts_by_check
from rubrics.fairness.comparison import SecondLookResult, compare_looks, limits_said
from rubrics.fairness.second_look import (
    SecondLookError,
    close,
    colleague_named,
    judge_again,
    open_look,
    opens_at,
    settle,
)
from rubrics.forms.fairness.second_look import OpenLookForm, SecondLevelsForm, SettleForm
from rubrics.judging.batch import NoRubric, load_batch
from rubrics.judging.marking.errors import GradingError
from rubrics.models import SecondLook, SecondLookPiece
from rubrics.reports.drawings.two_looks import two_looks
from rubrics.reports.svg import to_svg
from rubrics.stats.errors import CannotTellError
from rubrics.views.checks import drawn
from rubrics.views.judging.tiles import photos_of
from studio import access
from studio.views.photos.files import send_photo


@require_http_methods(["GET", "POST"])
def second_look_open(request: HttpRequest, project_id: int) -> HttpResponse:
    """Ask how closely and by whom, draw the sample and open it."""
    project = access.get_taught_project(request.user, project_id)
    form = OpenLookForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        name = form.cleaned_data["username"].strip()
        try:
            reader = colleague_named(project, name) if name else request.user
            look = open_look(
                project, request.user, reader=reader, within=form.cleaned_data["within"]
            )
        except (SecondLookError, CannotTellError, NoRubric) as error:
            form.add_error("username" if name else None, str(error))
        else:
            drawn_count = look.places.count()
            messages.success(request, f"{drawn_count} of {look.batch} pieces are drawn.")
            return redirect("fairness", project.pk)
    context = {"form": form, "project": project, "section": project.section}
    return TemplateResponse(
        request,
        "rubrics/fairness/open.html",
        context,
        status=422 if form.is_bound and form.errors else 200,
    )


@require_GET
def second_looks_asked(request: HttpRequest) -> HttpResponse:
    """The second looks that wait for whoever is signed in, as a fragment of the first page."""
    looks = doors.second_looks_to_do(request.user).select_related("project")
    return TemplateResponse(request, "rubrics/parts/second_looks_asked.html", {"looks": looks})


@require_GET
def second_look(request: HttpRequest, second_look_id: int) -> HttpResponse:
    """The sample as its reader sees it: codes, and which are judged again."""
    look = _look_to_do(request, second_look_id)
    places = list(look.places.select_related("piece"))
    judged = sum(each.assessment_id is not None for each in places)
    context = {
        "look": look,
        "places": places,
        "judged": judged,
        "following": next((each for each in places if each.assessment_id is None), None),
        "opens_at": opens_at(look),
    }
    return TemplateResponse(request, "rubrics/fairness/second_look.html", context)


@require_http_methods(["GET", "POST"])
def second_look_piece(request: HttpRequest, second_look_id: int, place: int) -> HttpResponse:
    """Judge one piece of the sample again: photos, checks and criteria, nothing else."""
    look = _look_to_do(request, second_look_id)
    shown = get_object_or_404(
        look.places.select_related("piece").prefetch_related("assessment__marks__level"),
        number=place,
    )
    if opens_at(look) is not None:
        return redirect("second_look", look.pk)
    criteria = list(look.rubric.criteria.prefetch_related("levels", "limits"))
    form = SecondLevelsForm(
        request.POST if request.method == "POST" else None, criteria=criteria, chosen=_chosen(shown)
    )
    if request.method == "POST" and form.is_valid():
        try:
            judge_again(shown, request.user, form.chosen())
        except SecondLookError as error:
            form.add_error(None, str(error))
        else:
            following = look.places.filter(assessment=None, number__gt=place).first()
            if following is None:
                return redirect("second_look", look.pk)
            return redirect("second_look_piece", look.pk, following.number)
    context = {
        "look": look,
        "place": shown,
        "form": form,
        "of": look.places.count(),
        "photos": photos_of(shown.piece),
        "checks": _checks(look, shown),
    }
    return TemplateResponse(
        request,
        "rubrics/fairness/second_look_piece.html",
        context,
        status=422 if form.is_bound and form.errors else 200,
    )


def _look_to_do(request: HttpRequest, second_look_id: int):
    looks = doors.second_looks_to_do(request.user).select_related("project__section", "rubric")
    return get_object_or_404(looks, pk=second_look_id)


def _chosen(place: SecondLookPiece) -> dict[int, int]:
    marks = place.assessment.marks.all() if place.assessment else ()
    return {mark.criterion_id: mark.level.number for mark in marks if mark.level}


def _checks(look, place: SecondLookPiece) -> list[drawn.DrawnCheck]:
    """The checks that have something to show; who measured is left out, for it may name people."""
    batch = load_batch(look.project, pieces=[place.piece])
    names = facts_by_check(batch.evidence, place.piece)
    return drawn.checks(batch, place.piece, names, uid=f"again{place.number}")


@require_safe
def second_look_photo(
    request: HttpRequest, second_look_id: int, photo_id: int, size: str
) -> HttpResponse:
    """A photo of a piece of the sample."""
    shown = get_object_or_404(doors.second_look_photos(request.user, second_look_id), pk=photo_id)
    return send_photo(request, shown, size)


@require_POST
def second_look_close(request: HttpRequest, second_look_id: int) -> HttpResponse:
    """Hand the sample back, or end it: its door shuts and its result is told."""
    look = doors.get_look_to_close(request.user, second_look_id)
    close(look)
    messages.success(request, "The second look is closed. Thank you for looking.")
    may_read = doors.read_second_looks(request.user).filter(pk=look.pk).exists()
    return redirect("second_look_result", look.pk) if may_read else redirect("today")


@require_GET
def second_look_result(request: HttpRequest, second_look_id: int) -> HttpResponse:
    """Agreement, percents and differences, once the look is closed."""
    get_object_or_404(doors.read_second_looks(request.user), pk=second_look_id)
    return _result(request, second_look_id)


def _result(
    request: HttpRequest, second_look_id: int, *, form: SettleForm | None = None
) -> HttpResponse:
    look = (
        SecondLook.objects.with_levels().select_related("project__section").get(pk=second_look_id)
    )
    context = {
        "look": look,
        "project": look.project,
        "section": look.project.section,
        "sample": len(look.places.all()),
        "may_change": access.may_change(request.user, look.project.section),
        "form": form,
    }
    if look.closed_at is None:
        context["judged"] = look.places.filter(assessment__isnull=False).count()
    else:
        found = compare_looks(look)
        context |= {
            "found": found,
            "drawing": _drawing(found),
            "limits_said": limits_said(found.limits) if found.limits else "",
        }
    status = 422 if form is not None else 200
    return TemplateResponse(request, "rubrics/fairness/result.html", context, status=status)


def _drawing(found: SecondLookResult) -> str:
    limits = found.limits
    lines = (limits.low.value, limits.mean.value, limits.high.value) if limits else None
    said = f"{len(found.percents)} pieces, a dot each: second less first percent over their mean."
    scene = two_looks(found.percents, lines)
    # Every word in the drawing was escaped when it was written.
    return mark_safe(to_svg(scene, title="Two looks at the same pieces", desc=said, uid="looks"))


@require_POST
def second_look_settle(request: HttpRequest, second_look_id: int) -> HttpResponse:
    """Settle one difference at a level, with the reason."""
    look = doors.get_look_to_settle(request.user, second_look_id)
    form = SettleForm(request.POST)
    if form.is_valid():
        place = get_object_or_404(look.places, pk=form.cleaned_data["place"])
        criterion = get_object_or_404(look.rubric.criteria, pk=form.cleaned_data["criterion"])
        try:
            settle(
                place,
                criterion,
                form.cleaned_data["level"],
                request.user,
                why=form.cleaned_data["why"],
            )
        except (SecondLookError, GradingError) as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Settled. Both levels stay beside it.")
            return redirect(reverse("second_look_result", args=[look.pk]) + "#differences")
    return _result(request, look.pk, form=form)
