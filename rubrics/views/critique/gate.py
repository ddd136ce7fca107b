"""The teacher's gate: one list, let through or given back, many at once."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_http_methods

from rubrics.critique import doors, gate
from rubrics.critique.errors import CritiqueError
from rubrics.forms.critique.ruling import seen_remarks
from rubrics.models import Remark
from studio.web.waiting import number_of


@require_http_methods(["GET", "POST"])
def the_gate(request: HttpRequest, critique_id: int) -> HttpResponse:
    """What waits, flagged ones first; below it what was ruled already."""
    critique = doors.get_taught_critique(request.user, critique_id)
    ticked, words = [], ""
    if request.method == "POST":
        ticked, words = request.POST.getlist("seen"), request.POST.get("words", "")
        words = words.strip() or request.POST.get("ready", "")
        if _rule(request, critique, seen_remarks(ticked), words):
            return redirect("gate", critique.pk)
    rows = gate.at_the_gate(critique)
    ruled = gate.remarks_of(critique).filter(state__in=(Remark.State.PASSED, Remark.State.BACK))
    context = {
        "critique": critique,
        "project": critique.project,
        "section": critique.project.section,
        "rows": rows,
        "flagged": sum(bool(row.flags) for row in rows),
        "ruled": ruled,
        "sentences": gate.KIND_SENTENCES,
        "taken_back": gate.TAKEN_BACK,
        "ticked": ticked,
        "words": request.POST.get("words", ""),
    }
    return TemplateResponse(request, "rubrics/critique/gate.html", context)


def _rule(request: HttpRequest, critique, seen, words: str) -> bool:
    """Do what was asked and say it; whether it was done."""
    back = "back" in request.POST
    if not seen:
        messages.error(request, "Tick the remarks first; then let them through or give them back.")
        return False
    try:
        done = (
            gate.give_back(critique, seen, request.user, words=words)
            if back
            else gate.let_through(critique, seen, request.user)
        )
    except CritiqueError as error:
        messages.error(request, str(error))
        return False
    told = "went back to their writers" if back else "went to their makers"
    messages.success(request, f"{number_of(done, 'remark', 'remarks')} {told}.")
    if done < len(seen):
        left = number_of(len(seen) - done, "remark was", "remarks were")
        messages.warning(request, f"{left} changed or ruled meanwhile; look at the list again.")
    return True
