"""Photographs in, out and away. A file leaves the site only through here."""

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.camera.intake import MAX_BYTES, PhotoError
from studio.forms.photos.files import PhotoForm, PhotosForm
from studio.models import Photo
from studio.photos import filing, storing
from studio.web.waiting import number_of

SIZES = {"small": "small", "middle": "middle", "full": "file"}
# A photo never changes under its address: a year, the longest that browsers keep anything.
KEEP = "private, max-age=31536000, immutable"


def photo_add(request, piece_id):
    """Add photos to a piece; those that can be read are kept even when others cannot."""
    piece = access.get_taught_piece(request.user, piece_id)
    form = PhotosForm(
        request.POST or None,
        request.FILES or None,
        initial={"stage": piece.stage, "view": Photo.View.SIDE},
    )
    if request.method == "POST" and form.is_valid():
        kept, problems = _take_in(request, piece, form)
        if kept:
            messages.success(request, f"{number_of(kept, 'photo', 'photos')} added.")
            for problem in problems:
                messages.error(request, problem)
            return redirect("piece", piece.pk)
        for problem in problems:
            form.add_error("files", problem)
    return TemplateResponse(
        request,
        "studio/photos/add.html",
        {"form": form, "piece": piece, "project": piece.project, "section": piece.section},
    )


def _take_in(request, piece, form) -> tuple[int, list[str]]:
    """Keep what can be kept; return how many, and a sentence for each that cannot."""
    kept, problems = 0, []
    for upload in form.cleaned_data["files"]:
        try:
            # One byte over is enough to be refused with the right sentence.
            prepared = storing.take_in(upload.read(MAX_BYTES + 1), upload.name)
            storing.store(
                piece.section,
                piece,
                prepared,
                request.user,
                stage=form.cleaned_data["stage"],
                view=form.cleaned_data["view"],
            )
        except storing.SamePhotoError as error:
            problems.append(f"{upload.name}: {error}")
        except PhotoError as error:
            problems.append(str(error))
        else:
            kept += 1
    return kept, problems


@require_safe
def photo(request, photo_id, size):
    """Send a photo to somebody who may see it."""
    return send_photo(request, get_object_or_404(access.photos(request.user), pk=photo_id), size)


def send_photo(request, shown, size):
    """Answer with a photo; who calls has asked whether its reader may see it.

    Raises
    ------
    Http404
        A size that is not known, or the file is gone.
    """
    if size not in SIZES:
        raise Http404("A photo comes small, middle or full.")
    file = getattr(shown, SIZES[size])
    etag = f'"{shown.sha256[:24]}-{shown.pk}-{size}"'
    response = get_conditional_response(request, etag=etag) or _send(file)
    response["ETag"] = etag
    response["Cache-Control"] = KEEP
    response["X-Content-Type-Options"] = "nosniff"
    return response


def _send(file):
    """The bytes, or the word to the web server that it may send them."""
    if settings.PHOTO_ACCEL_PREFIX:
        response = HttpResponse(content_type="image/jpeg")
        response["X-Accel-Redirect"] = settings.PHOTO_ACCEL_PREFIX.rstrip("/") + "/" + file.name
        response["Content-Disposition"] = "inline"
        return response
    try:
        opened = file.open("rb")
    except OSError:
        raise Http404("The file of this photo is not where it was kept.") from None
    response = FileResponse(opened, content_type="image/jpeg")
    response["Content-Disposition"] = "inline"
    return response


def photo_edit(request, photo_id):
    """Say what a photo shows, or take it away."""
    shown = access.get_taught_photo(request.user, photo_id)
    back = ("piece", shown.piece_id) if shown.piece_id else ("section", shown.section_id)
    before = (shown.piece_id, shown.stage, shown.view)
    form = PhotoForm(request.POST or None, instance=shown)
    if request.method == "POST" and "remove" in request.POST:
        try:
            storing.erase(shown)
        except PhotoError as error:
            messages.error(request, str(error))
            return redirect("photo_edit", shown.pk)
        messages.success(request, "The photo is taken away.")
        return redirect(*back)
    if request.method == "POST" and form.is_valid():
        filing.settle_change(form.instance, before, request.user)
        form.save()
        messages.success(request, "Kept.")
        return redirect(*back)
    return TemplateResponse(
        request,
        "studio/photos/edit.html",
        {"form": form, "photo": shown, "piece": shown.piece, "section": shown.section},
    )


@require_POST
def photo_choose(request, photo_id):
    """Let a photo stand for its piece: its student and the teacher may."""
    shown = get_object_or_404(access.photos(request.user).filter(piece__isnull=False), pk=photo_id)
    own = access.own_pieces(request.user).filter(pk=shown.piece_id).exists()
    if not (own or access.may_change(request.user, shown.section)):
        raise PermissionDenied("Only the student and the teacher choose the picture to show.")
    storing.choose(shown)
    messages.success(request, "This picture stands for the piece now, on the family's page too.")
    return redirect("piece", shown.piece_id)
