"""A cup photographed all round on a banding wheel: photos in, measured together, kept once."""

import json
import logging
from urllib.parse import urlencode

from django.contrib import messages
from django.http import JsonResponse, StreamingHttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.urls import reverse

from studio import access
from studio.camera.intake import MAX_BYTES, PhotoError
from studio.models import Stage
from studio.photos import mats, turned_page
from studio.photos import turned as cups
from studio.photos.confirming import SentError
from studio.photos.workers import DIED, WorkError
from studio.web.row_ids import row_id
from studio.web.waiting import number_of

log = logging.getLogger(__name__)


def turned(request, piece_id):
    """A piece's photos all round at a stage, what they tell together, and keeping that."""
    piece = access.get_taught_piece(request.user, piece_id)
    asked = request.GET.get("stage", "")
    stage = asked if asked in Stage.values else piece.stage
    if request.method == "POST":
        do = request.POST.get("do", "take" if request.FILES else "")
        return ACTIONS.get(do, _nothing)(request, piece, stage)
    return _page(request, piece, stage)


def _page(request, piece, stage):
    turning = cups.turning_of(piece, stage)
    photos, found = cups.photos_of(turning), cups.found_of(turning)
    stale = found is not None and cups.is_stale(found, photos)
    rows = turned_page.reading_rows(found) if found else []
    part = (
        "studio/photos/parts/turned.html" if "part" in request.GET else "studio/photos/turned.html"
    )
    bars = {photo.mat.bar_mm if photo.mat else None for photo in photos}
    return TemplateResponse(
        request,
        part,
        {
            "piece": piece,
            "project": piece.project,
            "section": piece.section,
            "stage": stage,
            "stages": Stage.choices,
            "turning": turning,
            "photos": [_tile(photo, found) for photo in photos],
            "loose": cups.loose_photos(piece, stage).count(),
            "found": found,
            "is_stale": stale,
            "mark": cups.read_mark(turning) if turning else "",
            "figures": turned_page.figure_rows(found) if found else [],
            "readings": rows,
            "keepable": sum(row.may_keep for row in rows),
            "high_side": turned_page.high_side(found) if found else "",
            "from_above": turned_page.from_above(found) if found else None,
            "unrolled": turned_page.unrolled(found) if found else None,
            "bar_said": _bar_said(bars),
            "mat_unmeasured": None in bars,
        },
    )


def _bar_said(bars: set[float | None]) -> str:
    """What the photos' printed mats mean for the sizes; empty where they are printed true."""
    told = [mats.said_of(bar) for bar in bars if bar is not None]
    return " ".join(said for said in told if "printed true" not in said)


def _tile(photo, found) -> dict:
    left_out = found.left_out.get(photo.pk, "") if found else ""
    used = bool(found) and photo.pk in found.used
    return {"photo": photo, "left_out": left_out, "used": used}


def _back(piece, stage):
    return redirect(f"{reverse('turned', args=[piece.pk])}?{urlencode({'stage': stage})}")


def _wants_json(request) -> bool:
    return request.get_preferred_type(["text/html", "application/json"]) == "application/json"


def _nothing(request, piece, stage):
    if _wants_json(request):
        return JsonResponse({"problem": "No photo came with this. Choose it again."}, status=400)
    messages.error(request, "No photo came with this. Choose the photos again.")
    return _back(piece, stage)


def _take(request, piece, stage):
    """Take photos in: one a request from the page's script, else all of the form."""
    if _wants_json(request):
        upload = request.FILES.get("files")
        if upload is None:
            return _nothing(request, piece, stage)
        try:
            taken = _take_one(request, piece, stage, upload)
        except PhotoError as error:
            return JsonResponse({"problem": str(error)})
        small = reverse("photo", args=[taken.photo.pk, "small"])
        return JsonResponse({"is_here": taken.is_here, "said": taken.said, "small": small})
    count = 0
    for upload in request.FILES.getlist("files"):
        try:
            taken = _take_one(request, piece, stage, upload)
        except PhotoError as error:
            messages.error(request, str(error))
            continue
        count += taken.is_here
        if not taken.is_here:
            messages.warning(request, f"{upload.name}: {taken.said}")
    if count:
        messages.success(request, f"{number_of(count, 'photo', 'photos')} taken in.")
    return _back(piece, stage)


def _take_one(request, piece, stage, upload):
    # One byte over is enough to be refused with the right sentence.
    return cups.take(piece, stage, upload.read(MAX_BYTES + 1), upload.name, request.user)


def _gather(request, piece, stage):
    count = cups.gather(piece, stage)
    messages.success(request, f"{number_of(count, 'photo', 'photos')} joined.")
    return _back(piece, stage)


def _leave(request, piece, stage):
    turning = cups.turning_of(piece, stage)
    photo = turning and turning.photos.filter(pk=row_id(request.POST.get("photo", ""))).first()
    if photo is None:
        messages.info(request, "That photo is not one of these any more.")
    else:
        cups.leave(photo, request.user)
        messages.success(request, "The photo is taken out; it stays with the piece.")
    return _back(piece, stage)


def _read(request, piece, stage):
    """Measure the photos together; a script hears how it goes, line by line of JSON."""
    steps = cups.measure(cups.turning_of(piece, stage), request.user)
    if _wants_json(request):
        answer = StreamingHttpResponse(_lines(steps), content_type="application/x-ndjson")
        answer["Cache-Control"] = "no-store"
        answer["X-Accel-Buffering"] = "no"  # a web server in between would hold the lines back
        return answer
    try:
        for _ in steps:
            pass
    except REFUSED as error:
        messages.error(request, str(error))
    return _back(piece, stage)


REFUSED = (WorkError, SentError)


def _lines(steps):
    try:
        for seen, of in steps:
            yield json.dumps({"seen": seen, "of": of}) + "\n"
    except REFUSED as error:
        yield json.dumps({"problem": str(error)}) + "\n"
    except Exception:
        # The answer has begun: no page of trouble can be sent any more, so the log gets it here.
        log.exception("Measuring a turned cup failed.")
        yield json.dumps({"problem": DIED}) + "\n"
    else:
        yield json.dumps({"done": True}) + "\n"


def _keep(request, piece, stage):
    turning = cups.turning_of(piece, stage)
    if turning is None:
        messages.error(request, cups.STALE)
        return _back(piece, stage)
    keys, mark = request.POST.getlist("keep"), request.POST.get("mark", "")
    try:
        kept, stayed = cups.confirm(turning, keys, mark, request.user)
    except SentError as error:
        messages.error(request, str(error))
        return _back(piece, stage)
    messages.success(
        request, f"{piece.code}: {number_of(kept, 'reading', 'readings')} kept, as read all round."
    )
    if stayed:
        stays = number_of(stayed, "reading stays", "readings stay")
        messages.info(request, f"{stays} as another photo tells more surely.")
    return _back(piece, stage)


ACTIONS = {"take": _take, "gather": _gather, "leave": _leave, "read": _read, "keep": _keep}
