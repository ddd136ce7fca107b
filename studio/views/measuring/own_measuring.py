"""A student measures the own piece, on a phone, one station at a time."""

from urllib.parse import urlencode

from django.contrib import messages
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.urls import reverse

from studio import access
from studio.forms.measuring.own_reading import OwnReadingForm
from studio.measuring import own_measuring
from studio.measuring.cell_saving import CONFLICT, PROBLEM
from studio.measuring.sheet_drawings import drawing_of
from studio.models import Piece
from studio.ware.stations import TITLES, USUAL_SET
from studio.web.row_ids import row_id


def measure_own(request, piece_id):
    """Show one station with the drawing of where it is; save it and go to the next."""
    visible = access.pieces(request.user).select_related("project__plan__clay", "section")
    piece = access.get_to_change(visible, access.own_pieces(request.user), pk=piece_id)
    if piece.state in (Piece.State.LOST, Piece.State.BROKEN):
        messages.warning(request, f"{piece} is {piece.state}: there is nothing left to measure.")
        return redirect("piece", piece.pk)
    asked = request.POST or request.GET
    key = asked["set"] if asked.get("set") in TITLES else USUAL_SET
    unit = piece.section.unit
    row = own_measuring.own_row(piece, key, unit=unit)
    place = _place(asked.get("at"), row)
    answer = None
    if request.method == "POST":
        answer = _saved(request, row, place, unit)
        if not (answer.sentence or answer.question):
            return _onwards(request, piece, key, unit, place)
    return TemplateResponse(
        request, "studio/measuring/own.html", _page(row, place, unit, answer, request.POST)
    )


def _place(asked, row) -> int:
    """The station asked for, counted from 1 in the address."""
    number = row_id(asked or "")
    if number is not None and 1 <= number <= len(row.cells):
        return number - 1
    return row.first_open()


def _saved(request, row, place, unit):
    form = OwnReadingForm(request.POST)
    sent = {"value": "", "where": "", "base": None, "stand": False}
    if form.is_valid():
        sent |= form.cleaned_data
    sent["value"] = sent.get("take") or sent["value"]
    column = row.cells[place].column
    answer = own_measuring.save_own(row, column, sent, by=request.user, unit=unit)
    if answer.state not in (PROBLEM, CONFLICT) and not answer.question:
        answer.sentence = ""
    return answer


def _onwards(request, piece, key, unit, place):
    """To the next station that is open; where none is, a word of thanks and the row."""
    row = own_measuring.own_row(piece, key, unit=unit)
    there = row.next_after(place)
    if there is None:
        messages.success(request, f"{row.chosen.title}: all read. Thank you.")
        there = place
    return redirect(_address(piece, key, there))


def _address(piece, key, place) -> str:
    query = urlencode({"set": key, "at": place + 1})
    return f"{reverse('measure_own', args=[piece.pk])}?{query}"


def _page(row, place, unit, answer, posted) -> dict:
    cell = row.cells[place]
    if answer is not None:
        cell.text = posted.get("value", "") if answer.state == PROBLEM else answer.shown
        cell.where_text = posted.get("where", "")
        cell.base = answer.reading_id or ""
        cell.problem = answer.sentence
        cell.question, cell.suggestion = answer.question, answer.suggestion
    piece, key = row.piece, row.chosen.key
    count = len(row.cells)
    return {
        "piece": piece,
        "project": piece.project,
        "section": piece.section,
        "row": row,
        "cell": cell,
        "lit": cell.column.key,
        "drawing": drawing_of(row.chosen),
        "where": own_measuring.where_words(cell.column),
        "number": place + 1,
        "count": count,
        "unit": "" if row.chosen.units - {"mm"} else unit,
        "keyboard": "decimal" if unit == "mm" else "text",
        "stations": [
            {"cell": each, "href": _address(piece, key, n), "now": n == place}
            for n, each in enumerate(row.cells)
        ],
        "sets": [
            {
                "label": title,
                "href": f"{reverse('measure_own', args=[piece.pk])}?{urlencode({'set': each})}",
                "now": each == key,
            }
            for each, title in TITLES.items()
        ],
        "back": _address(piece, key, place - 1) if place else "",
    }
