"""The measuring sheet: pieces down, stations across, saved as typed."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from studio import access, cell_saving
from studio.forms.readings import CellForm
from studio.fragments import address_or_none
from studio.measuring_sheet import build, choose_set, elsewhere, usual_stage
from studio.models import Piece, Stage
from studio.sheet_drawings import drawing_of
from studio.stations import TITLES, USUAL_SET, heights_in


def measure(request, project_id):
    """Show a sheet; without scripts, save the whole of it."""
    if request.method == "POST":
        project = access.get_taught_project(request.user, project_id)
        may_change = True
    else:
        visible = access.projects(request.user).select_related("section", "plan__clay")
        project = get_object_or_404(visible, pk=project_id)
        may_change = access.taught_projects(request.user).filter(pk=project.pk).exists()
    asked = request.POST or request.GET
    stage = asked.get("stage")
    if stage not in Stage.values:
        stage = usual_stage(
            project.pieces.filter(state=Piece.State.IN_WORK).values_list("stage", flat=True)
        )
    # What was posted decides the columns, so that nothing typed falls off the sheet.
    shown = heights_in(
        ".".join(name.split(".")[2:-1]) for name in request.POST if name.startswith("v.")
    )
    key = _known(asked.get("set"), TITLES, USUAL_SET)
    chosen = choose_set(project, key, stage, first=shown)
    unit = project.section.unit
    lines = build(project, chosen, stage, unit=unit)
    instruments = list(access.instruments(request.user))
    instrument = _instrument(asked.get("instrument"), instruments)
    if request.method == "POST":
        saved = cell_saving.save_sheet(
            request.POST, lines, chosen, stage, unit=unit, by=request.user, instrument=instrument
        )
        if not saved.left_open:
            messages.success(request, saved.sentence)
            return redirect(_address(project, stage, chosen.key, instrument))
        messages.warning(request, saved.sentence)
    context = {
        "project": project,
        "may_change": may_change,
        "stage": stage,
        "chosen": chosen,
        "unit": unit,
        "lines": lines,
        "elsewhere": elsewhere(project, chosen, stage, lines),
        "drawing": drawing_of(chosen),
        "stages": _choices(Stage.values, stage, lambda word: _address(project, word, chosen.key)),
        "sets": _choices(TITLES, chosen.key, lambda key: _address(project, stage, key), TITLES),
        "instruments": [one for one in instruments if one.unit in chosen.units],
        "instrument": instrument,
        "columns_beside_piece": len(chosen.columns) + 1,
        "row_check": address_or_none("row_check", piece_id=0, check=chosen.check),
        "rows_check": address_or_none("rows_check", project_id=project.pk, check=chosen.check),
        "keyboard": "decimal" if unit == "mm" else "text",
    }
    return TemplateResponse(request, "studio/measuring/measure.html", context)


@require_POST
def reading_save(request, project_id):
    """Save one cell, or answer its question; says as JSON what came of it."""
    project = access.get_taught_project(request.user, project_id)
    form = CellForm(request.POST)
    if not form.is_valid():
        sentence = "This cell could not be read; load the page again. What you typed stays here."
        return JsonResponse({"state": "problem", "sentence": sentence}, status=422)
    piece = get_object_or_404(project.pieces.all(), pk=form.cleaned_data["piece"])
    piece.project = project
    if "stand" in request.POST:
        answer = cell_saving.let_stand(piece, form.cleaned_data)
    else:
        wanted = form.cleaned_data["instrument"]
        instrument = access.instruments(request.user).filter(pk=wanted).first() if wanted else None
        answer = cell_saving.save_cell(
            piece,
            form.cleaned_data,
            by=request.user,
            unit=project.section.unit,
            instrument=instrument,
        )
    return JsonResponse(answer.as_json(), status=answer.status)


def _known(word, known, usual):
    return word if word in known else usual


def _instrument(word, instruments):
    return next((one for one in instruments if str(one.pk) == word), None)


def _address(project, stage, key, instrument=None) -> str:
    query = {"stage": stage, "set": key} | ({"instrument": instrument.pk} if instrument else {})
    return f"{reverse('measure', args=[project.pk])}?{urlencode(query)}"


def _choices(words, current, address, labels=None):
    return [
        {"label": labels[word] if labels else word, "href": address(word), "now": word == current}
        for word in words
    ]
