"""Photographs of a whole batch: in, filed, and measured one piece at a time."""

import time

from django.contrib import messages
from django.http import JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from studio import access
from studio.camera.intake import MAX_BYTES, PhotoError
from studio.forms.photos.photo_work import ChangeManyForm, CheckBarForm, IntakeForm
from studio.models import Photo
from studio.photos import filing, mats, reading, workers
from studio.photos.board import TO_MEASURE, PhotoBoard, board_of, tile_of
from studio.photos.workers import WorkError
from studio.web.waiting import number_of

LONGEST_MEASURING_S = 20
"""A form without a script waits no longer than this; what is left is told and asked for again."""


def photos_in(request, project_id):
    """Take photos in, and show where they went."""
    if request.method == "POST":
        project = access.get_taught_project(request.user, project_id)
        if _wants_json(request):
            return _one(request, project)
        return _many(request, project)
    project = get_object_or_404(
        access.projects(request.user).select_related("section"), pk=project_id
    )
    return _page(request, project)


def _page(request, project, *, form=None, change=None):
    may_change = access.may_change(request.user, project.section)
    board = board_of(project)
    if not may_change:
        # A head reads what is filed; the tray is the teacher's.
        board = PhotoBoard((), board.rows, board.without)
    part = "studio/photos/parts/board.html" if "board" in request.GET else "studio/photos/in.html"
    return TemplateResponse(
        request,
        part,
        {
            "form": form or IntakeForm(),
            "change": change or _change_form(request, project),
            "project": project,
            "section": project.section,
            "board": board,
            "may_change": may_change,
            "together": workers.count(),
            "bar_form": _bar_form(request) if may_change else None,
        },
    )


def _bar_form(request) -> CheckBarForm | None:
    """The question for the check bar, from the first photo on a mat until a ruler told it."""
    mine = mats.latest(request.user)
    if mine is None or mine.bar_mm is not None or not mine.photos.exists():
        return None
    return CheckBarForm()


def _wants_json(request) -> bool:
    return request.get_preferred_type(["text/html", "application/json"]) == "application/json"


def _one(request, project):
    """One file of the page's script: what became of it, or why it was refused."""
    upload = request.FILES.get("files")
    if upload is None:
        return JsonResponse(
            {"problem": "No file came with this. Choose the photo again."}, status=400
        )
    try:
        filed = _take(request, project, upload)
    except PhotoError as error:
        # 200: the request went well, the file did not; a script retries only what got lost.
        return JsonResponse({"problem": str(error)})
    photo = filed.photo
    return JsonResponse(
        {
            "photo": photo.pk,
            "piece": photo.piece.code if photo.piece else None,
            "said": _said(filed),
            "small": reverse("photo", args=[photo.pk, "small"]),
            "read": _read_address(photo),
        }
    )


def _read_address(photo: Photo) -> str | None:
    tile = tile_of(photo)
    if tile.state != TO_MEASURE or photo.piece_id is None:
        return None
    return reverse("photo_read", args=[photo.pk])


def _take(request, project, upload):
    # One byte over is enough to be refused with the right sentence.
    data = upload.read(MAX_BYTES + 1)
    return filing.take_and_file(project.section, data, upload.name, request.user)


HOW = {"slip": "by its slip", "name": "by its name"}


def _said(filed) -> str:
    where = f"filed with {filed.photo.piece.code}" if filed.photo.piece else "in the tray"
    if not filed.is_new:
        return f"Here already, {where}."
    if not filed.photo.piece:
        return "In the tray: no slip was read and the name holds no code."
    words = [f"Filed with {filed.photo.piece.code} {HOW.get(filed.how, '')}".strip()]
    words += [filed.photo.get_view_display(), filed.photo.stage]
    return ", ".join(word for word in words if word) + "."


def _many(request, project):
    """The same without a script: all files of the form in one request."""
    form = IntakeForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, project, form=form)
    taken, here = 0, 0
    for upload in form.cleaned_data["files"]:
        try:
            filed = _take(request, project, upload)
        except PhotoError as error:
            messages.error(request, str(error))
        else:
            taken += filed.is_new
            here += not filed.is_new
    if taken:
        messages.success(request, f"{number_of(taken, 'photo', 'photos')} taken in.")
    if here:
        messages.info(request, f"{number_of(here, 'photo was', 'photos were')} here already.")
    return redirect("photos_in", project.pk)


def _change_form(request, project, data=None):
    return ChangeManyForm(
        data,
        photos=access.taught_photos(request.user).filter(section=project.section),
        pieces=project.section.pieces.in_order(),
    )


@require_POST
def photos_change(request, project_id):
    """File and label ticked photos, or file one as it was offered."""
    project = access.get_taught_project(request.user, project_id)
    data = request.POST
    if "offered" in data:
        photo_id, _, piece_id = data["offered"].partition(":")
        data = {"photos": [photo_id], "piece": piece_id}
    form = _change_form(request, project, data)
    if not form.is_valid():
        for problem in [p for problems in form.errors.values() for p in problems]:
            messages.error(request, problem)
        return redirect("photos_in", project.pk)
    said = form.cleaned_data
    count = filing.change_many(
        said["photos"], request.user, piece=said["piece"], stage=said["stage"], view=said["view"]
    )
    messages.success(request, f"{number_of(count, 'photo is', 'photos are')} changed.")
    return redirect("photos_in", project.pk)


@require_POST
def photo_read(request, photo_id):
    """Measure a photo together with the others of its piece and stage."""
    photo = access.get_taught_photo(request.user, photo_id)
    begun = time.monotonic()
    try:
        measured = reading.measure_together(photo)
    except WorkError as error:
        if _wants_json(request):
            return JsonResponse({"problem": str(error)})
        messages.error(request, str(error))
        return redirect("photo_confirm", photo.pk)
    if _wants_json(request):
        return JsonResponse(
            {"photos": [one.pk for one in measured], "seconds": round(time.monotonic() - begun, 2)}
        )
    return redirect("photo_confirm", photo.pk)


@require_POST
def photos_measure(request, project_id):
    """Measure what waits, a piece at a time, as long as a browser can be kept waiting."""
    project = access.get_taught_project(request.user, project_id)
    waiting = [
        tile.photo
        for tile in board_of(project).tiles
        if tile.state == TO_MEASURE and tile.photo.piece_id
    ]
    came = reading.measure_all(waiting, LONGEST_MEASURING_S)
    done = number_of(len(came.done), "photo is", "photos are")
    messages.success(request, f"{done} measured.")
    for problem in came.problems:
        messages.error(request, problem)
    if came.left:
        left = number_of(came.left, "photo waits", "photos wait")
        messages.warning(request, f"{left} still; go on.")
    return redirect("photos_in", project.pk)
