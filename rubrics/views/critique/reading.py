"""A student reads a piece and writes, on a phone; a teacher types in what is on paper."""

from __future__ import annotations

import json
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
    require_safe,
)

from rubrics.critique import boxes, doors, wording, writing
from rubrics.critique.errors import CritiqueError, Elsewhere
from rubrics.critique.facts import measured
from rubrics.forms.critique.reading import BoxForm, box_forms
from rubrics.models import Look, Remark
from rubrics.views.critique.pictures import pictures
from studio.models import Piece
from studio.projects import piece_sheet
from studio.views.photos.files import send_photo

RULES = json.dumps(
    {
        "most": wording.MOST_WORDS,
        "places": sorted(wording.PLACES),
        "reasons": sorted(wording.REASONS),
    }
)
"""What the page's script is given, so that one list speaks on both sides."""


@dataclass(frozen=True, slots=True)
class ShownBox:
    """A box with what stands in it."""

    text: boxes.BoxText
    remark: Remark
    starters: list[str]
    said: wording.RemarkFindings
    is_open: bool
    came_back: bool
    problem: str = ""
    theirs: str = ""
    """What another window wrote meanwhile, where this one was refused."""


@require_GET
def looks(request: HttpRequest) -> HttpResponse:
    """What was dealt to this student to read, and what came on own pieces."""
    rows = list(doors.looks(request.user).order_by("-shown__critique_id", "shown__position"))
    own = (
        Piece.objects.filter(
            student__login=request.user,
            shown_in__looks__remarks__state=Remark.State.PASSED,
        )
        .select_related("project")
        .distinct()
    )
    context = {"looks": rows, "own": own, "left": sum(each.sent_at is None for each in rows)}
    return TemplateResponse(request, "rubrics/critique/looks.html", context)


@require_http_methods(["GET", "POST"])
def look(request: HttpRequest, look_id: int) -> HttpResponse:
    """Photos, facts and intent of one piece, and the five boxes."""
    shown = get_object_or_404(doors.looks(request.user), pk=look_id)
    problems = {}
    if request.method == "POST":
        problems = _keep_all(request, shown)
        if not problems and "send" in request.POST:
            try:
                writing.send(shown)
            except CritiqueError as error:
                problems[""] = str(error)
            else:
                messages.success(request, "Sent to your teacher, who passes it on. Thank you.")
                return redirect("looks")
        if not problems:
            messages.success(request, "Kept. Send it when you are done.")
            return redirect("look", shown.pk)
    context = _page(request, shown, problems)
    context["back"] = reverse("looks")
    return TemplateResponse(request, "rubrics/critique/look.html", context)


@require_http_methods(["GET", "POST"])
def look_typed(request: HttpRequest, look_id: int) -> HttpResponse:
    """What a student wrote on paper, typed in by the teacher and sent in the student's name."""
    shown = doors.get_look_to_type(request.user, look_id)
    problems = {}
    if request.method == "POST":
        problems = _keep_all(request, shown, by=request.user)
        if not problems:
            try:
                writing.send(shown)
            except CritiqueError as error:
                problems[""] = str(error)
            else:
                messages.success(
                    request, f"Kept for {shown.reader.name}. It waits at the gate like the others."
                )
                return redirect("critique", shown.shown.critique_id)
    return TemplateResponse(request, "rubrics/critique/typed.html", _page(request, shown, problems))


@require_POST
def look_save(request: HttpRequest, look_id: int) -> JsonResponse:
    """Keep one box, as the page's script sends it while the reader writes."""
    shown = get_object_or_404(doors.looks(request.user), pk=look_id)
    form = BoxForm(request.POST)
    if not form.is_valid():
        return JsonResponse({"state": "problem", "sentence": form.sentence()}, status=400)
    try:
        remark = writing.save_box(
            shown,
            request.POST.get("box", ""),
            form.written(),
            version=form.cleaned_data["version"],
        )
    except Elsewhere as error:
        return JsonResponse({"state": "conflict", **_told(error.theirs)}, status=409)
    except CritiqueError as error:
        return JsonResponse({"state": "problem", "sentence": str(error)}, status=409)
    return JsonResponse({"state": "saved", **_told(remark)})


@require_safe
def look_photo(request: HttpRequest, look_id: int, photo_id: int, size: str) -> HttpResponse:
    """A photo of a piece that was dealt to this student, while the critique is open."""
    photo = doors.get_photo_of_look(request.user, look_id, photo_id)
    return send_photo(request, photo, size)


def _told(remark: Remark) -> dict:
    return {
        "version": remark.version,
        "text": remark.text,
        "place": remark.place,
        "photo": remark.photo_id,
        "x": remark.x,
        "y": remark.y,
    }


def _keep_all(request: HttpRequest, shown: Look, by=None) -> dict[str, str]:
    """Keep every box that a form sent; a sentence by box for what was refused."""
    problems = {}
    stand = {each.box: each for each in shown.remarks.all()}
    for box, form in box_forms(request.POST).items():
        if not form.is_valid():
            problems[box] = form.sentence()
            continue
        written, version = form.written(), form.cleaned_data["version"]
        if box not in stand and written == writing.Written(""):
            continue
        try:
            writing.save_box(shown, box, written, version=version, by=by)
        except CritiqueError as error:
            problems[box] = str(error)
    return problems


def _page(request: HttpRequest, shown: Look, problems: dict[str, str]) -> dict:
    piece = shown.shown.piece
    stand = {each.box: each for each in shown.remarks.all()}
    starters = boxes.starters(piece)
    rows = [
        _box(text, stand.get(text.key), starters, problems, request.POST) for text in boxes.BOXES
    ]
    # Pins carry the number of their box.
    numbered = [(row.text.number, row.remark) for row in rows]
    photos = piece_sheet.photos_of(piece)
    return {
        "look": shown,
        "piece": piece,
        "critique": shown.shown.critique,
        "project": shown.shown.critique.project,
        "section": shown.shown.critique.project.section,
        "boxes": rows,
        "problem": problems.get(""),
        "pictures": pictures(
            photos,
            numbered,
            lambda photo: reverse("look_photo", args=[shown.pk, photo.pk, "middle"]),
        ),
        "facts": measured([piece]).get(piece.pk, []),
        "places": Remark.Place.choices,
        "rules": RULES,
        "most_words": wording.MOST_WORDS,
        "reasons": ", ".join(sorted(wording.REASONS)),
        "any_open": any(row.is_open for row in rows),
    }


def _box(text, stands: Remark | None, starters, problems, posted) -> ShownBox:
    remark = stands or Remark(box=text.key)
    problem, theirs = problems.get(text.key, ""), remark.text
    if problem and f"{text.key}-text" in posted:
        # What was refused stays to be mended; its version is the one that stands now.
        remark.text = posted[f"{text.key}-text"]
    return ShownBox(
        text=text,
        remark=remark,
        starters=starters[text.key],
        said=wording.read(remark.text, pointed=bool(remark.place or remark.pin)),
        is_open=remark.state in writing.OPEN,
        came_back=remark.state == Remark.State.BACK,
        problem=problem,
        theirs=theirs if problem and theirs != remark.text else "",
    )
