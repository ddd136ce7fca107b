"""How good the measuring is: a study of several people, several cups, each several times."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_http_methods, require_POST

from rubrics import access as doors
from rubrics.fairness.measuring import StudyError, bands_eaten, said, take_over, tell
from rubrics.fairness.own_readings import read_by_both
from rubrics.forms.fairness.measuring import BeginStudyForm, StudyGridForm
from rubrics.models import Limit, MeasuringStudy
from rubrics.stats.errors import CannotTellError
from studio import access


@require_http_methods(["GET", "POST"])
def measuring_studies(request: HttpRequest) -> HttpResponse:
    """List own studies; begin one."""
    if not access.is_grown_up(request.user):
        raise PermissionDenied("A study of the measuring is the teacher's to keep.")
    data = request.POST if request.method == "POST" else None
    form = BeginStudyForm(data, user=request.user)
    if form.is_bound and form.is_valid():
        return redirect("measuring_study", form.save().pk)
    context = {
        "form": form,
        "studies": MeasuringStudy.objects.filter(owner=request.user).select_related("instrument"),
        "by_both": read_by_both(request.user),
    }
    status = 422 if form.is_bound else 200
    return TemplateResponse(request, "rubrics/fairness/studies.html", context, status=status)


@require_http_methods(["GET", "POST"])
def measuring_study(request: HttpRequest, study_id: int) -> HttpResponse:
    """The grid, and what it tells. A grid that cannot be read is kept all the same."""
    study = doors.get_study(request.user, study_id)
    data = request.POST if request.method == "POST" else None
    form = StudyGridForm(data, instance=study, user=request.user)
    if form.is_bound and form.is_valid():
        form.save()
        messages.success(request, "The readings are kept.")
        return redirect("measuring_study", study.pk)
    context = {"study": study, "form": form, **_told(request.user, study)}
    status = 422 if form.is_bound else 200
    return TemplateResponse(request, "rubrics/fairness/study.html", context, status=status)


def _told(user, study: MeasuringStudy) -> dict:
    try:
        told = tell(study)
    except (StudyError, CannotTellError) as error:
        return {"because": str(error)}
    limits = Limit.objects.filter(criterion__rubric__in=doors.rubrics(user))
    own = study.instrument is not None and study.instrument.owner_id == user.pk
    return {
        "told": told,
        "parts": [
            (what, said(sd, study.quantity), why)
            for what, sd, why in (
                ("The cups themselves", told.cup_sd, "how much the cups differ"),
                ("Repeatability", told.repeatability.value, "one person, one cup, again"),
                ("People", told.person_sd, "one reads higher than another on all cups"),
                ("People and cups together", told.interaction_sd, "they differ on some cups"),
                ("The measuring in all", told.measuring.value, "the last three together"),
            )
        ],
        "repeatability": [
            said(each, study.quantity)
            for each in (
                told.repeatability.value,
                told.repeatability.low,
                told.repeatability.high,
            )
        ],
        "offsets": [(who, said(offset, study.quantity)) for who, offset in told.offsets],
        "eaten": [
            (each.label, said(each.band, study.quantity), *map(_percent, _ends(each.share)))
            for each in bands_eaten(told, study.quantity, list(limits))
        ],
        "may_take": own,
    }


def _ends(share) -> tuple[float, float, float]:
    return share.value, share.low, share.high


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


@require_POST
def measuring_study_take(request: HttpRequest, study_id: int) -> HttpResponse:
    """Take the repeatability over into the study's instrument."""
    study = doors.get_study(request.user, study_id)
    try:
        instrument = take_over(study)
    except (StudyError, CannotTellError) as error:
        messages.error(request, str(error))
    else:
        size = said(instrument.repeatability, study.quantity)
        messages.success(request, f"{instrument} repeats to {size} from now on.")
    return redirect("measuring_study", study.pk)
