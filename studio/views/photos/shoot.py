"""Photos with a phone, cup after cup: each is looked at before the next cup is set on the mat."""

import time

from django.contrib import messages
from django.http import JsonResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.urls import reverse

from studio import access
from studio.camera.intake import MAX_BYTES, PhotoError
from studio.models import Photo
from studio.photos import filing, mats, shooting, shot_check
from studio.photos.board import TO_MEASURE, tile_of
from studio.web.row_ids import row_id

VIEWS = {Photo.View.SIDE: "side", Photo.View.TOP: "top"}


def photos_shoot(request, project_id):
    """The next piece's code with the camera under it; a photo is looked at, then taken in."""
    project = access.get_taught_project(request.user, project_id)
    first = row_id(request.GET.get("piece", ""))
    turn = shooting.next_turn(project, first=first)
    if request.method == "POST":
        wants_json = (
            request.get_preferred_type(["text/html", "application/json"]) == "application/json"
        )
        return _json(request, project, turn) if wants_json else _form(request, project, turn)
    rows = shooting.lacking(project)
    following = _after(rows, turn)
    return TemplateResponse(
        request,
        "studio/photos/shoot.html",
        {
            "project": project,
            "section": project.section,
            "turn": turn,
            "side": Photo.View.SIDE,
            "following": following,
            "pieces": [piece for piece, _ in rows],
            "mat_unmeasured": _mat_unmeasured(request.user),
        },
    )


def _mat_unmeasured(user) -> bool:
    mine = mats.latest(user)
    return mine is None or mine.bar_mm is None


def _after(rows, turn):
    """The piece that comes when this one is skipped."""
    if turn is None:
        return None
    places = [piece.pk for piece, _ in rows]
    at = places.index(turn.piece.pk)
    return next((p for p, views in rows[at + 1 :] + rows[:at] if views), None)


def _json(request, project, turn):
    upload = request.FILES.get("files")
    if upload is None:
        return JsonResponse({"problem": "No photo came with this. Take it again."}, status=400)
    try:
        if "look" in request.GET:
            return JsonResponse(_looked(upload, turn))
        filed = _take(request, project, upload, turn)
    except PhotoError as error:
        return JsonResponse({"problem": str(error)})
    photo = filed.photo
    tile = tile_of(photo)
    following = shooting.next_turn(project, first=turn.piece.pk if turn else None)
    code = photo.piece.code if photo.piece else "the tray"
    return JsonResponse(
        {
            "said": f"{code}, {photo.get_view_display()}: kept.",
            "read": reverse("photo_read", args=[photo.pk])
            if tile.state == TO_MEASURE and photo.piece_id
            else None,
            "next": _address(project, following),
        }
    )


def _looked(upload, turn) -> dict:
    begun = time.perf_counter()
    rgb, focal = shot_check.look(upload.read(MAX_BYTES + 1), upload.name)
    shot = shot_check.check(
        rgb,
        focal,
        wanted=VIEWS[turn.view] if turn else "",
        code=turn.piece.code if turn else "",
    )
    return {
        "will_do": shot.will_do,
        "advice": shot.advice,
        "hints": shot.hints,
        "seen": _seen(shot),
        "seconds": round(time.perf_counter() - begun, 3),
    }


def _seen(shot: shot_check.Shot) -> str:
    """What was found, in a line."""
    words = [f"{shot.markers} markers"]
    if shot.sharpness is not None:
        words.append("sharp" if shot.sharpness >= shot_check.SHARP_SHARE else "blurred")
    if shot.cup_whole is not None:
        words.append("cup whole" if shot.cup_whole else "cup cut off")
    if shot.code:
        words.append(f"slip {shot.code}")
    return ", ".join(words)


def _take(request, project, upload, turn):
    data = upload.read(MAX_BYTES + 1)
    piece = turn.piece if turn else None
    return filing.take_and_file(project.section, data, upload.name, request.user, piece=piece)


def _address(project, turn) -> str:
    page = reverse("photos_shoot", args=[project.pk])
    return f"{page}?piece={turn.piece.pk}" if turn else page


def _form(request, project, turn):
    """The same without a script: the photo is kept either way, and what to change is said."""
    upload = request.FILES.get("files")
    here = _address(project, turn)
    if upload is None:
        messages.error(request, "No photo came with this. Take it again.")
        return redirect(here)
    try:
        looked = _looked(upload, turn)
        upload.seek(0)
        filed = _take(request, project, upload, turn)
    except PhotoError as error:
        messages.error(request, str(error))
        return redirect(here)
    where = filed.photo.piece.code if filed.photo.piece else "the tray"
    if looked["will_do"]:
        messages.success(request, f"{where}: this one will do.")
    else:
        messages.warning(request, f"{where}: kept, but {' '.join(looked['advice'])}")
    return redirect(_address(project, shooting.next_turn(project, first=turn and turn.piece.pk)))
