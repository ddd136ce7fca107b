"""How far students and teacher agree in a project, as a fragment of the look-over."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET

from rubrics.models import Mark
from rubrics.stats.agreement import FEWEST_PAIRS, AgreementError, weighted_kappa
from studio import access


@require_GET
def self_agreement(request: HttpRequest, project_id: int) -> HttpResponse:
    """Quadratic weighted kappa of own and teacher's levels; too few to tell under ten pairs."""
    project = get_object_or_404(access.projects(request.user), pk=project_id)
    rows = Mark.objects.filter(
        assessment__piece__project=project,
        assessment__kind__in=("self", "teacher"),
        level__isnull=False,
    ).values_list("assessment__piece", "criterion", "assessment__kind", "level__number")
    by_place: dict[tuple[int, int], dict[str, int]] = {}
    for piece, criterion, kind, level in rows:
        by_place.setdefault((piece, criterion), {})[kind] = level
    both = [levels for levels in by_place.values() if len(levels) == 2]
    own, teachers = ([levels[kind] for levels in both] for kind in ("self", "teacher"))
    found, because = None, ""
    if len(both) >= FEWEST_PAIRS:
        try:
            found = weighted_kappa(own, teachers)
        except AgreementError as error:
            because = str(error)
    context = {
        "count": len(both),
        "fewest": FEWEST_PAIRS,
        "found": found,
        "because": because,
        "higher": sum(a > b for a, b in zip(own, teachers, strict=True)),
        "lower": sum(a < b for a, b in zip(own, teachers, strict=True)),
        "same": sum(a == b for a, b in zip(own, teachers, strict=True)),
    }
    return TemplateResponse(request, "rubrics/parts/self_agreement.html", context)
