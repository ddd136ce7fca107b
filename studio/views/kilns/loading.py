"""Into the kiln and out of it: the shelf map, and what came of each piece."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect
from django.template.response import TemplateResponse

from studio import access
from studio.camera.intake import MAX_BYTES, PhotoError
from studio.forms.kilns.kilns import LoadForm
from studio.forms.kilns.unloading import FindingForm, OpeningForm
from studio.forms.projects.glazes import CoatForm
from studio.kilns import firings, glazing, log_and_cones, unloading
from studio.kilns.firing_pages import ready_by_project, shelves_of
from studio.kilns.firings import FiringError
from studio.kilns.glaze_outcomes import names_in
from studio.kilns.unloading import Finding
from studio.models import Firing, Load, Photo
from studio.photos import storing
from studio.ware.outcomes import DEFECTS, SOUND
from studio.web.row_ids import row_id, row_ids
from studio.web.waiting import number_of

MOST_NAMED = 8
"""So many pieces are told by name after loading; more would bury what went wrong."""


def firing_load(request, firing_id):
    """Load by code, or all that are ready of a project; move between shelves; take out."""
    shown = access.get_taught_firing(request.user, firing_id)
    taught = access.taught_pieces(request.user)
    form, coat = LoadForm(kiln=shown.kiln), _coat_form(shown, taught)
    if request.method == "POST" and _tells_glaze(request):
        coat, done = _note_glaze(request, shown, taught)
        if done:
            if "glaze" not in request.POST:
                messages.info(request, "The shelves are as they were; press that button again.")
            return redirect("firing_load", shown.pk)
    elif request.method == "POST":
        try:
            form, done = _load(request, shown, taught)
        except FiringError as error:
            messages.error(request, str(error))
            done = True
        if done:
            return redirect("firing_load", shown.pk)
    return TemplateResponse(
        request,
        "studio/kilns/load.html",
        {
            "firing": shown,
            "is_glaze": shown.kind == Firing.Kind.GLAZE,
            "form": form,
            "coat": coat,
            "ticked": request.POST.getlist("loads"),
            "shelf_field": form["shelf"],
            "projects": ready_by_project(shown, taught),
            "shelves": shelves_of(shown, access.pieces(request.user)),
            "may_change": True,
        },
        status=422 if form.errors or (coat and coat.errors) else 200,
    )


def _coat_form(shown, taught, data=None) -> CoatForm | None:
    """The form for the glaze of ticked pieces; None in a firing that no glaze goes into."""
    if shown.kind != Firing.Kind.GLAZE:
        return None
    sections = taught.filter(loads__firing=shown).values("section")
    return CoatForm(data, names=names_in(sections), prefix="coat")


def _tells_glaze(request) -> bool:
    """Whether a glaze is to be noted: by its button, or typed and sent by another or by Enter."""
    return "glaze" in request.POST or bool(request.POST.get("coat-glaze", "").strip())


def _note_glaze(request, shown, taught):
    """Note the glaze of the ticked pieces; returns the form and whether it was done."""
    form = _coat_form(shown, taught, request.POST)
    if form is None:
        messages.error(request, "Glaze goes on after the bisque: note it in the glaze firing.")
        return None, True
    ticked = [load.piece for load in _ticked(request, shown).select_related("piece")]
    if not ticked:
        form.add_error(None, "Tick the pieces that wear this glaze.")
    if not form.is_valid():
        return form, False
    glazed = glazing.note_coats(ticked, form.cleaned_data, request.user)
    if glazed.noted:
        messages.success(
            request,
            f"{form.cleaned_data['glaze']} is noted of "
            f"{number_of(len(glazed.noted), 'piece', 'pieces')}.",
        )
    if glazed.before:
        codes = ", ".join(sorted(piece.code for piece in glazed.before))
        messages.info(
            request, f"Noted there before, and left as it was: {codes}. Change it at the piece."
        )
    return form, True


def _load(request, shown, taught):
    """Do what the pressed button says; returns the form and whether it was done."""
    form = LoadForm(request.POST, kiln=shown.kiln)
    if "codes" in request.POST:
        if not form.is_valid():
            return form, False
        data = form.cleaned_data
        came = firings.load_codes(shown, data["codes"], taught, shelf=data["shelf"])
        _tell(request, came)
        if came.refused:
            # What loaded is in; what did not stays in the field, to be put right there.
            left = {"codes": " ".join(came.refused), "shelf": data["shelf"] or ""}
            return LoadForm(initial=left, kiln=shown.kiln), False
        return form, True
    shelf = _shelf(request, shown)
    if "project" in request.POST:
        wanted = row_id(request.POST["project"])
        chosen = firings.ready(shown, taught)
        chosen = chosen.none() if wanted is None else chosen.filter(project=wanted)
        _tell(request, firings.load_pieces(shown, chosen, shelf=shelf))
        return form, True
    ticked = _ticked(request, shown)
    if not ticked.exists():
        messages.warning(request, "Tick the pieces first.")
    elif "out" in request.POST:
        count = firings.take_out(shown, ticked)
        messages.success(request, f"{number_of(count, 'piece', 'pieces')} taken out.")
    else:
        count = firings.put_on_shelf(shown, ticked, shelf)
        messages.success(
            request,
            f"{number_of(count, 'piece stands', 'pieces stand')} on "
            f"{f'shelf {shelf}' if shelf else 'no shelf that was told'} now.",
        )
    return form, True


def _shelf(request, shown) -> int | None:
    text = request.POST.get("shelf", "")
    if text and row_id(text) is None:
        raise FiringError("Choose a shelf from the list.")
    return row_id(text)


def _ticked(request, shown):
    """The ticked loads of pieces that the user teaches, those that no longer exist left out."""
    ids = row_ids(request.POST.getlist("loads"))
    return Load.objects.filter(
        firing=shown, pk__in=ids, piece__in=access.taught_pieces(request.user)
    )


def _tell(request, came) -> None:
    if came.new:
        told = [f"{piece.code} {piece.student.name}, {piece.section.name}" for piece in came.new]
        named = f" {'; '.join(told)}." if len(told) <= MOST_NAMED else ""
        messages.success(request, f"{number_of(len(came.new), 'piece', 'pieces')} loaded.{named}")
    if came.already:
        codes = ", ".join(piece.code for piece in came.already)
        messages.info(request, f"In the kiln already: {codes}.")
    for sentence in came.warnings:
        messages.warning(request, sentence)
    for sentence in came.problems:
        messages.error(request, sentence)
    if not (came.new or came.already or came.problems):
        messages.info(request, "Nothing is ready there.")


def firing_unload(request, firing_id):
    """Note what came out, many pieces at once; say when the kiln is empty."""
    shown = access.get_taught_firing(request.user, firing_id)
    loads = (
        Load.objects.filter(firing=shown, piece__in=access.taught_pieces(request.user))
        .select_related("piece__section", "piece__student")
        .order_by("piece__code")
    )
    form, opened = FindingForm(loads=loads), OpeningForm(instance=shown)
    taught = access.taught_pieces(request.user)
    coat = _coat_form(shown, taught)
    if request.method == "POST" and _tells_glaze(request):
        coat, done = _note_glaze(request, shown, taught)
        if request.POST.get("kind"):  # a finding filled in beside it is kept, or noted as well
            form = FindingForm(request.POST, request.FILES, loads=loads)
            if done and "glaze" not in request.POST:
                form, done = _unload(request, shown, loads)
            else:
                done = False
        if done:
            return redirect("firing_unload", shown.pk)
    elif request.method == "POST" and "opened" in request.POST:
        opened = OpeningForm(request.POST, instance=shown)
        if opened.is_valid():
            unloading.note_opening(shown, opened.cleaned_data["opened_c"])
            messages.success(request, log_and_cones.opening_of(shown, None).sentence)
            return redirect("firing_unload", shown.pk)
    elif request.method == "POST":
        form, done = _unload(request, shown, loads)
        if done:
            return redirect("firing_unload", shown.pk)
    return TemplateResponse(
        request,
        "studio/kilns/unload.html",
        {
            "firing": shown,
            "is_glaze": shown.kind == Firing.Kind.GLAZE,
            "form": form,
            "opened": opened,
            "coat": coat,
            "ticked": request.POST.getlist("loads"),
            "shelves": shelves_of(shown, taught),
            "proposals": [defect for defect in DEFECTS.values() if defect.word != SOUND],
            "may_change": True,
        },
        status=422 if form.errors or opened.errors or (coat and coat.errors) else 200,
    )


def _unload(request, shown, loads):
    if not loads.exists():
        raise PermissionDenied("No piece of yours is in this firing.")
    if "rest" in request.POST:
        count = unloading.note_rest_sound(shown, loads, request.user)
        messages.success(request, f"{number_of(count, 'piece', 'pieces')} noted as sound.")
        return FindingForm(loads=loads), True
    if "done" in request.POST:
        moved = unloading.finish(shown)
        messages.success(
            request,
            f"The kiln is empty. {number_of(moved, 'piece is', 'pieces are')} {shown.kind} now.",
        )
        return FindingForm(loads=loads), True
    if "open" in request.POST:
        unloading.open_again(shown)
        return FindingForm(loads=loads), True
    return _note(request, shown, loads)


def _note(request, shown, loads):
    form = FindingForm(request.POST, request.FILES, loads=loads)
    ticked = list(_ticked(request, shown).select_related("piece__section"))
    if not ticked:
        form.add_error(None, "Tick the pieces it is about.")
    if form.is_valid() and form.cleaned_data["photo"] and len(ticked) != 1:
        form.add_error("photo", "A photo shows one piece: tick only that one.")
    if not form.is_valid():
        return form, False
    data = form.cleaned_data
    try:
        photo = _photo(request, shown, ticked[0].piece, data["photo"])
    except PhotoError as error:
        form.add_error("photo", str(error))
        return form, False
    hurt = [load for load in loads if str(load.pk) in data["hurt"]]
    finding = Finding(
        kind=data["kind"],
        severity=data["severity"],
        doing=data["doing"],
        note=data["note"].strip(),
        photo=photo,
        hurt=hurt,
    )
    noted = unloading.note_finding(shown, ticked, finding, request.user)
    passed = len(ticked) - len(noted)
    messages.success(request, f"Noted of {number_of(len(noted), 'piece', 'pieces')}.")
    if passed:
        messages.info(
            request,
            f"{number_of(passed, 'piece has', 'pieces have')} a defect on record and stayed so.",
        )
    return FindingForm(loads=loads), True


def _photo(request, shown, piece, upload) -> Photo | None:
    if not upload:
        return None
    prepared = storing.take_in(upload.read(MAX_BYTES + 1), upload.name)
    return storing.store(
        piece.section,
        piece,
        prepared,
        request.user,
        stage=shown.kind,
        view=Photo.View.DETAIL,
        caption="What came of it",
    )
