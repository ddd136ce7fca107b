"""The hand confirms: points over a photo, the sizes they give, the seam along it."""

import json
from typing import NamedTuple
from urllib.parse import urlencode

from django.contrib import messages
from django.http import JsonResponse
from django.http.request import RawPostDataException
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from studio import access
from studio.camera.along import LineError
from studio.camera.by_hand import POINTS, PointsError
from studio.models import Photo, Stage
from studio.photos import confirming, seam_drawing
from studio.photos.confirming import NOT_UNDERSTOOD, SentError
from studio.ware.sound import is_sound
from studio.ware.units import format_number


def photo_confirm(request, photo_id):
    """Show a photo's points and sizes; keep what the teacher confirms."""
    photo = access.get_taught_photo(request.user, photo_id)
    if photo.piece_id is None:
        messages.warning(request, "File this photo with a piece first; then it can be measured.")
        return redirect("section", photo.section_id)
    if photo.turning_id:
        page = reverse("turned", args=[photo.piece_id])
        return redirect(f"{page}?{urlencode({'stage': photo.turning.stage})}")
    problem = ""
    if request.method == "POST":
        try:
            return _confirm(request, photo)
        except REFUSED as error:
            problem = str(error)
    return _page(request, photo, problem)


def _page(request, photo: Photo, problem: str):
    found = confirming.found_of(photo)
    points = found.start_points(photo.view)
    try:
        lines = confirming.sizes_of(photo, points)
    except PointsError as error:
        lines, problem = [], problem or str(error)
    names = POINTS.get(photo.view, {})
    frame = _close(photo, points)
    following = confirming.next_to_confirm(photo)
    return TemplateResponse(
        request,
        "studio/photos/confirm.html",
        {
            "photo": photo,
            "piece": photo.piece,
            "project": photo.piece.project,
            "section": photo.section,
            "found": found,
            "points": [
                {
                    "name": name,
                    "label": names[name],
                    "x": x,
                    "y": y,
                    "placed": name in found.points or name in found.placed,
                }
                for name, (x, y) in points.items()
            ],
            "points_json": json.dumps(points),
            "outline": " ".join(f"{x:g},{y:g}" for x, y in found.outline),
            "seam": dict(found.seam),
            "stages": Stage.choices,
            "lines": [_row(line) for line in lines],
            "may_measure": photo.view != Photo.View.DETAIL
            and not found.measured
            and (found.camera is not None or not photo.found),
            "needs_height": photo.view == Photo.View.TOP
            and confirming.rim_height_of(photo) is None,
            "problem": problem,
            "following": following,
            "whole": _box(Frame(-0.5, -0.5, photo.width, photo.height)),
            "close": _box(frame),
            "dot": frame.width / DOTS_ACROSS,
            "unsure": not any(line.measure.trusted for line in lines),
        },
    )


DOTS_ACROSS = 90
"""A point's radius is this part of what is shown of the picture."""
AROUND = 0.3
"""So much of the piece's extent is shown on every side of it."""


class Frame(NamedTuple):
    """A part of a photo. [px]"""

    x: float
    y: float
    width: float
    height: float


def _close(photo: Photo, points) -> Frame:
    """The part of the photo that the points lie in, with some ground about, as wide to high as
    the photo."""
    whole = Frame(-0.5, -0.5, photo.width, photo.height)
    if not points:
        return whole
    xs, ys = zip(*points.values(), strict=True)
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    share = max((max(xs) - min(xs)) / photo.width, (max(ys) - min(ys)) / photo.height)
    share = min(1.0, share * (1 + 2 * AROUND))
    width, height = share * photo.width, share * photo.height
    return Frame(
        min(max(middle[0] - width / 2, whole.x), whole.x + whole.width - width),
        min(max(middle[1] - height / 2, whole.y), whole.y + whole.height - height),
        width,
        height,
    )


def _box(frame: Frame) -> str:
    return " ".join(f"{side:.1f}" for side in frame)


def _row(line: confirming.PhotoSize) -> dict:
    """One line of the table, as text: the page computes nothing."""
    return {
        "key": line.key,
        "label": line.kind.label,
        "value": _number(line.measure.value),
        "doubt": _number(line.doubt),
        "unit": line.kind.unit,
        "trusted": line.measure.trusted,
        "may_keep": line.may_keep,
        "keep": line.keep_unasked,
        "note": line.note,
        "hand": None if line.by_hand is None else _number(line.by_hand),
        "disagrees": line.disagrees,
    }


def _number(value: float) -> str:
    return format_number(value, "mm", places=1)


REFUSED = (PointsError, LineError, SentError)
"""What a drawing can be refused for, each with a sentence for the reader. Any other error is ours:
it goes to the log, and the page says so."""


def _sent(text: str | bytes) -> dict:
    """An object that a page sent as JSON, or :class:`SentError`."""
    try:
        sent = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise SentError(NOT_UNDERSTOOD) from error
    if not isinstance(sent, dict) or not is_sound(sent):
        raise SentError(NOT_UNDERSTOOD)
    return sent


def _body(request) -> bytes:
    """The JSON that a script sent; a form in its place was read as one and has no body left."""
    try:
        return request.body
    except RawPostDataException as error:
        raise SentError(NOT_UNDERSTOOD) from error


def _points(photo: Photo, sent) -> dict:
    return confirming.clean_points(photo.view, sent, (photo.width, photo.height))


def _confirm(request, photo: Photo):
    points = _points(photo, _sent(request.POST.get("points") or "{}"))
    done = confirming.confirm(photo, points, request.POST.getlist("keep"), request.user)
    code = photo.piece.code
    if done.kept:
        messages.success(request, f"{code}: {_listed(done.kept)} kept as read from the photo.")
    else:
        messages.info(request, f"{code}: the points are kept; no size became a reading.")
    if done.outdone:
        messages.info(
            request, f"{code}: {_listed(done.outdone)} stays as another photo tells it more surely."
        )
    if done.implausible:
        messages.warning(
            request, f"{code}: no piece has such a {_listed(done.implausible)}; it was not kept."
        )
    following = confirming.next_to_confirm(photo)
    if following is not None and "stay" not in request.POST:
        return redirect("photo_confirm", following.pk)
    return redirect("photos_in", photo.piece.project_id)


def _listed(words) -> str:
    first = [word[0].lower() + word[1:] for word in words]
    return first[0] if len(first) == 1 else f"{', '.join(first[:-1])} and {first[-1]}"


@require_POST
def photo_sizes(request, photo_id):
    """The sizes for points that a hand is moving, without keeping anything."""
    photo = access.get_taught_photo(request.user, photo_id)
    try:
        points = _points(photo, _sent(_body(request)).get("points"))
        lines = confirming.sizes_of(photo, points)
    except REFUSED as error:
        return JsonResponse({"problem": str(error), "lines": []})
    return JsonResponse({"problem": "", "lines": [_row(line) for line in lines]})


@require_POST
def photo_seam_draw(request, photo_id):
    """Lengths along a drawn seam; kept with the photo and as readings when asked to."""
    photo = access.get_taught_photo(request.user, photo_id)
    try:
        sent = _sent(_body(request))
        line, parts = seam_drawing.clean_seam(sent.get("line") or [], sent.get("parts") or [])
        if sent.get("keep"):
            seam = seam_drawing.save(photo, line, parts, request.user)
        else:
            seam = seam_drawing.measure(photo, line, parts)
    except REFUSED as error:
        return JsonResponse({"problem": str(error)})
    return JsonResponse({"problem": "", **_seam(photo, seam), "kept": bool(sent.get("keep"))})


def _seam(photo: Photo, seam: seam_drawing.Seam) -> dict:
    share = f"{100 * seam.open_share:.0f} % of the seam is marked."
    if seam.length is None:
        said = f"{share} The mat is not in the picture, so there is no length in mm."
    elif seam.from_calliper:
        said = f"{share} Lengths follow from the seam's length on record."
    else:
        said = f"{share} The seam is {_number(seam.length.value)} mm long, give or take "
        said += f"{_number(2 * seam.length.u)}."
    return {
        "said": said,
        "parts": [
            {
                "kind": mark.kind,
                "from": mark.start_share,
                "to": mark.end_share,
                "text": _part_text(mark),
            }
            for mark in seam.parts
        ],
    }


def _part_text(mark: seam_drawing.Marked) -> str:
    word = seam_drawing.KINDS[mark.kind]
    if mark.part is None:
        return f"{word}: {100 * mark.start_share:.0f} to {100 * mark.end_share:.0f} % of the seam"
    start, length = mark.part.start.value, mark.part.length
    return f"{word}: {_number(length.value)} mm, from {_number(start)} mm up the seam"
