"""The measuring sheet: pieces down, stations across, saved as typed."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from studio import access
from studio.forms.measuring.readings import CellForm
from studio.measuring import cell_saving
from studio.measuring.asked import asked_of, narrow
from studio.measuring.sheet import build, choose_set, elsewhere, usual_stage
from studio.measuring.sheet_drawings import drawing_of
from studio.models import Piece, Stage
from studio.ware.stations import TITLES, USUAL_SET, heights_in
from studio.web.fragments import address_or_none


def measure(request, project_id):
    """Show a sheet; without scripts, save the whole of it."""
    project, may_change = _project(request, project_id)
    asked = request.POST or request.GET
    stage = _known(asked.get("stage"), Stage.values, None) or usual_stage(
        project.pieces.filter(state=Piece.State.IN_WORK).values_list("stage", flat=True)
    )
    # What was posted decides the columns, so that nothing typed falls off the sheet.
    shown = heights_in(cell_saving.columns_in(request.POST))
    key = _known(asked.get("set"), TITLES, USUAL_SET)
    wanted = asked_of(project)
    chosen = choose_set(project, key, stage, first=shown, more_sizes=wanted.more_sizes)
    unit = project.section.unit
    lines = build(project, chosen, stage, unit=unit, is_size_given=wanted.is_size_given)
    instruments = list(access.instruments(request.user))
    instrument = next((one for one in instruments if str(one.pk) == asked.get("instrument")), None)
    if request.method == "POST":
        saved = cell_saving.save_sheet(
            request.POST, lines, chosen, stage, unit=unit, by=request.user, instrument=instrument
        )
        if not saved.left_open:
            messages.success(request, saved.sentence)
            return redirect(_address(project, stage, chosen.key, instrument))
        messages.warning(request, saved.sentence)
    left_out = 0
    if "all" not in asked:
        chosen, left_out = narrow(chosen, lines, wanted)
    here = _address(project, stage, chosen.key, instrument)
    context = _sheet(project, chosen, stage, wanted) | {
        "left_out": left_out,
        "whole": f"{here}&all=1",
        "narrow": here if "all" in asked and wanted.quantities else "",
        "may_change": may_change,
        "lines": lines,
        "has_photographed": any(cell.seen for line in lines for cell in line.cells),
        "elsewhere": elsewhere(project, chosen, stage, lines),
        "instruments": [one for one in instruments if one.unit in chosen.units],
        "instrument": instrument,
    }
    return TemplateResponse(request, "studio/measuring/measure.html", context)


def _project(request, project_id):
    """The project, and whether this user may change it; a change that is not allowed ends here."""
    if request.method == "POST":
        return access.get_taught_project(request.user, project_id), True
    visible = access.projects(request.user).select_related("section", "plan__clay")
    project = get_object_or_404(visible, pk=project_id)
    return project, access.taught_projects(request.user).filter(pk=project.pk).exists()


def _sheet(project, chosen, stage, wanted):
    """What the page shows around its rows."""
    unit = project.section.unit
    first = {*wanted.sets(stage), chosen.key}
    sets = _choices(TITLES, chosen.key, lambda key: _address(project, stage, key), TITLES)
    return {
        "project": project,
        "stage": stage,
        "chosen": chosen,
        "unit": unit,
        "drawing": drawing_of(chosen),
        "stages": _choices(Stage.values, stage, lambda word: _address(project, word, chosen.key)),
        "sets": [one for key, one in zip(TITLES, sets, strict=True) if key in first],
        "more_sets": [one for key, one in zip(TITLES, sets, strict=True) if key not in first],
        "columns_beside_piece": len(chosen.columns) + 1,
        "row_check": address_or_none("row_check", piece_id=0, check=chosen.check),
        "rows_check": address_or_none("rows_check", project_id=project.pk, check=chosen.check),
        "keyboard": "decimal" if unit == "mm" else "text",
    }


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


def _address(project, stage, key, instrument=None) -> str:
    query = {"stage": stage, "set": key} | ({"instrument": instrument.pk} if instrument else {})
    return f"{reverse('measure', args=[project.pk])}?{urlencode(query)}"


def _choices(words, current, address, labels=None):
    return [
        {"label": labels[word] if labels else word, "href": address(word), "now": word == current}
        for word in words
    ]
