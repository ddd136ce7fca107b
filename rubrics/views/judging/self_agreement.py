"""How far students and teacher agree in a project, as a fragment of the look-over."""

import math

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET

from rubrics.models import Mark
from rubrics.stats.agreement import compare
from studio import access


@require_GET
def self_agreement(request: HttpRequest, project_id: int) -> HttpResponse:
    """Quadratic weighted kappa of own and teacher's levels, all criteria together."""
    project = get_object_or_404(access.projects(request.user), pk=project_id)
    rows = Mark.objects.filter(
        assessment__piece__project=project,
        assessment__kind__in=("self", "teacher"),
        level__isnull=False,
    ).values_list("assessment__piece", "criterion", "assessment__kind", "level__number")
    by_place: dict[tuple[int, int], dict[str, int]] = {}
    for piece, criterion, kind, level in rows:
        by_place.setdefault((piece, criterion), {})[kind] = level
    both = {place: levels for place, levels in by_place.items() if len(levels) == 2}
    told = None
    if both:
        told = compare(*(_table(both, kind) for kind in ("self", "teacher"))).together
    return TemplateResponse(request, "rubrics/parts/self_agreement.html", {"told": told})


def _table(both: dict[tuple[int, int], dict[str, int]], kind: str) -> list[list[float]]:
    """Levels by piece and criterion, NaN where one of the two has not judged."""
    pieces, criteria = (sorted(set(each)) for each in zip(*both, strict=True))
    return [
        [both.get((piece, criterion), {}).get(kind, math.nan) for criterion in criteria]
        for piece in pieces
    ]
