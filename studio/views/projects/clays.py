"""Clays: those that ship with the site, and a teacher's own."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse

from studio import access
from studio.forms.projects.clays import ClayForm
from studio.models import Clay
from studio.projects.clays import keep_clay
from studio.projects.starter_clays import LATER_STAGES
from studio.web.row_ids import row_id


def clays(request):
    """All clays a grown-up may plan with."""
    _grown_ups_only(request)
    found = list(access.clays(request.user).prefetch_related("shrinkages"))
    return TemplateResponse(
        request,
        "studio/projects/clays.html",
        {
            "stages": [stage.label for stage in LATER_STAGES],
            "own": [_row(clay) for clay in found if clay.owner_id == request.user.pk],
            "others": [_row(clay) for clay in found if clay.owner_id != request.user.pk],
        },
    )


def _grown_ups_only(request) -> None:
    if not access.is_grown_up(request.user):
        raise PermissionDenied("Clays are the teachers' to see to.")


def _row(clay: Clay) -> tuple:
    """A clay with its shrinkages in the order of the stages, None where not told."""
    by_stage = {each.stage: each for each in clay.shrinkages.all()}
    return clay, [by_stage.get(stage) for stage in LATER_STAGES]


def _figures(clay: Clay) -> dict[str, tuple]:
    return {each.stage: (each.percent, each.spread_percent) for each in clay.shrinkages.all()}


def clay_new(request):
    """Add a clay of one's own, from nothing or from a copy of another."""
    _grown_ups_only(request)
    source, figures = None, {}
    if (asked := row_id(request.GET.get("from", ""))) is not None:
        source = get_object_or_404(access.clays(request.user), pk=asked)
        figures = _figures(source)
    initial = (
        {
            "name": f"{source.name}, ours",
            "maturing_cone": source.maturing_cone,
            "absorption_percent": source.absorption_percent,
        }
        if source
        else {}
    )
    form = ClayForm(
        request.POST or None,
        owner=request.user,
        instance=Clay(owner=request.user),
        initial=initial,
        shrinkages=figures,
    )
    return _clay(request, form, None)


def clay_edit(request, clay_id):
    """Change a clay of one's own."""
    _grown_ups_only(request)
    clay = access.get_to_change(
        access.clays(request.user), access.own_clays(request.user), pk=clay_id
    )
    form = ClayForm(
        request.POST or None, owner=request.user, instance=clay, shrinkages=_figures(clay)
    )
    return _clay(request, form, clay)


def _clay(request, form, clay):
    if request.method == "POST" and form.is_valid():
        kept = keep_clay(form.save(commit=False), form.shrinkages())
        messages.success(request, f"{kept.name} is kept. Plans that use it follow.")
        return redirect("clays")
    return TemplateResponse(request, "studio/projects/clay.html", {"form": form, "clay": clay})
