"""What the batches taught of a clay, as a fragment of the clay's page, and taking it over."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET, require_POST

from rubrics.evidence.clay_shrinkage import pieces_shrinkage
from studio import access
from studio.projects.clay_tests import ClayTestError, take_shrinkage


@require_GET
def clay_learned(request: HttpRequest, clay_id: int) -> HttpResponse:
    """Pooled shrinkage of all pieces in a clay, by stage."""
    _grown_ups_only(request)
    clay = get_object_or_404(access.clays(request.user), pk=clay_id)
    return TemplateResponse(
        request,
        "rubrics/parts/clay_learned.html",
        {
            "clay": clay,
            "rows": pieces_shrinkage(clay, request.user),
            "may_change": clay.owner_id == request.user.pk,
        },
    )


@require_POST
def clay_learned_take(request: HttpRequest, clay_id: int) -> HttpResponse:
    """Plan with what the pieces taught of one stage, because the teacher says so."""
    _grown_ups_only(request)
    clay = access.get_to_change(
        access.clays(request.user), access.own_clays(request.user), pk=clay_id
    )
    told = {row.stage: row for row in pieces_shrinkage(clay, request.user)}.get(
        request.POST.get("stage")
    )
    if told is None or told.percent is None:
        messages.error(request, "Too few pieces tell that yet; the plan is as it was.")
        return redirect("clay_tests", clay.pk)
    try:
        kept = take_shrinkage(clay, {told.stage: (told.percent, told.spread)})
    except ClayTestError as error:
        messages.error(request, str(error))
    else:
        messages.success(
            request,
            f"{clay} is planned with {kept[told.stage]} % to {told.stage.label} from now on. "
            "Plans that use it follow.",
        )
    return redirect("clay_tests", clay.pk)


def _grown_ups_only(request: HttpRequest) -> None:
    if not access.is_grown_up(request.user):
        raise PermissionDenied("Clays are the teachers' to see to.")
