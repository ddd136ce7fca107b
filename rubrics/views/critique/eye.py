"""Setting the eye first: three cups chosen, levelled by each alone, compared together."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
    require_safe,
)

from rubrics.critique import doors
from rubrics.critique import eye as eyes
from rubrics.critique.errors import CritiqueError
from rubrics.critique.facts import measured
from rubrics.forms.critique.eye import CupsForm, EyeForm, PaperForm
from rubrics.judging.batch import NoRubric, rubric_of
from rubrics.models import EyeSetting
from rubrics.reports.drawings.level_share import level_share
from rubrics.reports.svg import to_svg
from rubrics.views.critique.pictures import pictures
from studio import access
from studio.projects import piece_sheet
from studio.views.photos.files import send_photo

PHOTOS_OF_CUP = 2


@require_http_methods(["GET", "POST"])
def eye_new(request: HttpRequest, project_id: int) -> HttpResponse:
    """Choose three cups with photos, best of another class or an earlier project."""
    project = access.get_taught_project(request.user, project_id)
    try:
        rubric_of(project)
    except NoRubric as error:
        messages.warning(request, str(error))
        return redirect("critiques", project.pk)
    pieces = list(
        access.taught_pieces(request.user)
        .filter(photos__isnull=False)
        .select_related("project", "section")
        .distinct()
        .order_by("project__number", "code")
    )
    form = CupsForm(request.POST or None, pieces=pieces)
    if request.method == "POST" and form.is_valid():
        by_id = {piece.pk: piece for piece in pieces}
        try:
            setting = eyes.open_setting(project, request.user, [by_id[pk] for pk in form.chosen()])
        except CritiqueError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The class finds the three cups on the first page.")
            return redirect("eye", setting.pk)
    context = {"form": form, "project": project, "section": project.section, "pieces": pieces}
    return TemplateResponse(request, "rubrics/critique/eye_new.html", context)


@require_http_methods(["GET", "POST"])
def eye(request: HttpRequest, eye_id: int) -> HttpResponse:
    """Level the three cups, alone."""
    setting = doors.get_eye_setting_to_answer(request.user, eye_id)
    if setting.compared_at is not None:
        return redirect("eye_compare", setting.pk)
    cups, criteria = _cups(setting), _criteria(setting)
    given = eyes.levels_of(setting, request.user)
    form = EyeForm(request.POST or None, cups=cups, criteria=criteria, given=given)
    if request.method == "POST" and form.is_valid():
        try:
            eyes.answer(setting, request.user, form.levels())
        except CritiqueError as error:
            messages.error(request, str(error))
        else:
            messages.success(request, "Kept. You can change it until the answers are compared.")
        return redirect("eye", setting.pk)
    taught = access.may_change(request.user, setting.project.section)
    context = {
        "setting": setting,
        "project": setting.project,
        "section": setting.project.section,
        "form": form,
        "cups": _with_photos(request, setting, cups, form),
        "given": bool(given),
        "taught": taught,
        "answered": eyes.answered_by(setting),
    }
    return TemplateResponse(request, "rubrics/critique/eye.html", context)


@require_http_methods(["GET", "POST"])
def eye_paper(request: HttpRequest, eye_id: int) -> HttpResponse:
    """Type in what students wrote on paper, a row a student."""
    setting = _taught(request, eye_id)
    if setting.compared_at is not None:
        messages.warning(request, "The answers are compared already.")
        return redirect("eye_compare", setting.pk)
    students, criteria = eyes.on_paper(setting), _criteria(setting)
    form = PaperForm(
        request.POST or None,
        students=students,
        cups=_cups(setting),
        criteria=criteria,
        given=eyes.levels_on_paper(setting),
    )
    if request.method == "POST" and form.is_valid():
        try:
            count = eyes.answer_on_paper(setting, form.answers)
        except CritiqueError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"Kept, with answers of {count} on paper.")
            return redirect("eye", setting.pk)
    context = {
        "setting": setting,
        "project": setting.project,
        "section": setting.project.section,
        "form": form,
        "cups": form.cups,
        "criteria": criteria,
        "students": students,
    }
    return TemplateResponse(request, "rubrics/critique/eye_paper.html", context)


def _taught(request: HttpRequest, eye_id: int) -> EyeSetting:
    taught = EyeSetting.objects.filter(project__in=access.taught_projects(request.user))
    return access.get_to_change(doors.eye_settings(request.user), taught, pk=eye_id)


def _cups(setting: EyeSetting):
    return list(setting.cups.select_related("piece"))


def _criteria(setting: EyeSetting):
    try:
        return list(rubric_of(setting.project).criteria.all())
    except NoRubric:
        return []


def _with_photos(request, setting: EyeSetting, cups, form: EyeForm) -> list[dict]:
    """Each cup with its photos, what was measured, and its fields; no code and no name."""
    facts = measured([cup.piece for cup in cups])
    return [
        {
            "cup": cup,
            "pictures": pictures(
                piece_sheet.photos_of(cup.piece)[:PHOTOS_OF_CUP],
                (),
                lambda photo: reverse("eye_photo", args=[setting.pk, photo.pk, "middle"]),
            ),
            "facts": facts.get(cup.piece_id, []),
            "fields": form.of_cup(cup),
        }
        for cup in cups
    ]


@require_POST
def eye_open(request: HttpRequest, eye_id: int) -> HttpResponse:
    """Lay the answers open; from then on nobody answers."""
    setting = _taught(request, eye_id)
    eyes.compare(setting)
    return redirect("eye_compare", setting.pk)


@require_GET
def eye_compare(request: HttpRequest, eye_id: int) -> HttpResponse:
    """The answers criterion by criterion, and what is worth a word."""
    setting = get_object_or_404(doors.eye_settings(request.user), pk=eye_id)
    context = {
        "setting": setting,
        "project": setting.project,
        "section": setting.project.section,
        "own": not access.read_sections(request.user)
        .filter(pk=setting.project.section_id)
        .exists(),
        "answered": eyes.answered_by(setting),
    }
    if setting.compared_at is not None:
        found = eyes.spreads(setting, _criteria(setting))
        by_criterion: dict = {}
        for each in found:
            by_criterion.setdefault(each.criterion, []).append((each, _bar(each)))
        context |= {
            "criteria": list(by_criterion.items()),
            "points": eyes.talking_points(found),
            "cups": [{"cup": cup, "pictures": _pictures(setting, cup)} for cup in _cups(setting)],
        }
    return TemplateResponse(request, "rubrics/critique/eye_compare.html", context)


def _pictures(setting: EyeSetting, cup):
    return pictures(
        piece_sheet.photos_of(cup.piece)[:1],
        (),
        lambda photo: reverse("eye_photo", args=[setting.pk, photo.pk, "small"]),
    )


def _bar(spread: eyes.Spread) -> SafeString:
    told = ", ".join(
        f"{count} at level {level}"
        for level, count in zip(eyes.LEVELS, spread.counts, strict=True)
        if count
    )
    title = f"{spread.criterion.name}, {spread.cup}"
    uid = f"eye-{spread.criterion.pk}-{spread.cup.pk}"
    # Built by our own drawing from numbers; words in it are escaped there.
    return mark_safe(to_svg(level_share(spread.counts), title=title, desc=told, uid=uid))


@require_safe
def eye_photo(request: HttpRequest, eye_id: int, photo_id: int, size: str) -> HttpResponse:
    """A photo of an anchor cup, for those who level it."""
    return send_photo(request, doors.get_photo_of_cup(request.user, eye_id, photo_id), size)
