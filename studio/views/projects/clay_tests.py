"""A clay's own tests: marked bars, weighings, and taking over what they say."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import prefetch_related_objects
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_POST

from studio import access
from studio.forms.projects.clay_tests import BarForm, WeighingForm
from studio.models import Stage
from studio.planning.bars import BARS_OF_THE_STANDARD
from studio.projects.clay_tests import (
    ClayTestError,
    absorptions,
    keep_bar,
    mean_absorption_percent,
    result_of,
    take_absorption,
    take_shrinkage,
)
from studio.projects.starter_clays import LATER_STAGES

SPARE_BARS = 3


def clay_tests(request, clay_id):
    """Bars and weighings of a clay with what they say; saving the table of bars."""
    clay, to_change = _clay(request, clay_id)
    bars = list(clay.bars.prefetch_related("readings"))
    forms = _bar_forms(request, bars) if to_change else []
    if request.method == "POST" and _all_valid(forms):
        _keep(clay, forms)
        messages.success(request, "The bars are kept.")
        return redirect("clay_tests", clay.pk)
    return _page(
        request,
        clay,
        to_change=to_change,
        forms=forms,
        bars=bars,
        weighing=WeighingForm(clay=clay),
    )


def _clay(request, clay_id):
    """The clay, and whether the user may change it; a change asks for that."""
    if not access.is_grown_up(request.user):
        raise PermissionDenied("Clays are the teachers' to see to.")
    visible, own = access.clays(request.user), access.own_clays(request.user)
    if request.method == "POST":
        return access.get_to_change(visible, own, pk=clay_id), True
    clay = get_object_or_404(visible, pk=clay_id)
    return clay, clay.owner_id == request.user.pk


def _bar_forms(request, bars) -> list[BarForm]:
    data = request.POST or None
    known = [BarForm(data, bar=bar, prefix=f"bar-{bar.pk}") for bar in bars]
    return known + [BarForm(data, prefix=f"new-{number}") for number in range(SPARE_BARS)]


def _all_valid(forms) -> bool:
    # Every form is asked, so that each shows what it has to say.
    answers = [form.is_valid() for form in forms]
    valid = all(answers)
    labels = set()
    for form in forms:
        label = form.cleaned_data.get("label", "") if valid else ""
        if label and label in labels:
            form.add_error("label", f"Two bars are called {label}. Name one of them anew.")
            valid = False
        labels.add(label)
    return valid


def _keep(clay, forms) -> None:
    """A row emptied altogether takes its bar away."""
    for form in forms:
        if form.is_empty:
            if form.bar is not None:
                form.bar.delete()
        else:
            keep_bar(clay, form.cleaned_data["label"], form.lengths(), form.bar)


def _page(request, clay, *, to_change, forms, bars, weighing):
    prefetch_related_objects([clay], "shrinkages", "absorption_tests")
    told = result_of(bars)
    planned = {each.stage: each for each in clay.shrinkages.all()}
    weighed = absorptions(clay.absorption_tests.all())
    return TemplateResponse(
        request,
        "studio/projects/clay_tests.html",
        {
            "clay": clay,
            "to_change": to_change,
            "stages": [stage.label for stage in Stage],
            "forms": forms,
            "bars": [(bar, [_length(bar, stage) for stage in Stage]) for bar in bars],
            "rows": [
                (stage, told.of(stage), planned.get(stage))
                for stage in LATER_STAGES
                if told.of(stage)
            ],
            "told": told,
            "full_set": BARS_OF_THE_STANDARD,
            "weighed": weighed,
            "mean_absorption": mean_absorption_percent(weighed),
            "weighing": weighing,
        },
    )


def _length(bar, stage) -> float | None:
    return next((r.length_mm for r in bar.readings.all() if r.stage == stage), None)


@require_POST
def clay_weighing(request, clay_id):
    """Keep one weighing, or take one away."""
    clay, to_change = _clay(request, clay_id)
    if request.POST.get("remove", "").isdecimal():
        clay.absorption_tests.filter(pk=request.POST["remove"]).delete()
        messages.success(request, "The weighing is taken away.")
        return redirect("clay_tests", clay.pk)
    form = WeighingForm(request.POST, clay=clay)
    if form.is_valid():
        form.save()
        messages.success(request, "The weighing is kept.")
        return redirect("clay_tests", clay.pk)
    bars = list(clay.bars.prefetch_related("readings"))
    unbound = [BarForm(bar=bar, prefix=f"bar-{bar.pk}") for bar in bars]
    unbound += [BarForm(prefix=f"new-{number}") for number in range(SPARE_BARS)]
    return _page(request, clay, to_change=to_change, forms=unbound, bars=bars, weighing=form)


@require_POST
def clay_take(request, clay_id):
    """Plan with what the bars or the weighings say, because the teacher says so."""
    clay, _ = _clay(request, clay_id)
    if request.POST.get("what") == "absorption":
        percent = mean_absorption_percent(absorptions(clay.absorption_tests.all()))
        if percent is not None:
            take_absorption(clay, percent)
            messages.success(request, f"{clay} is planned with an absorption of {percent} %.")
            return redirect("clay_tests", clay.pk)
    else:
        told = result_of(clay.bars.prefetch_related("readings"))
        found = {each.stage: (each.percent, each.spread_percent) for each in told.stages}
        if found:
            _take_bars(request, clay, found)
            return redirect("clay_tests", clay.pk)
    messages.error(request, "There is nothing to take over yet; the plan is as it was.")
    return redirect("clay_tests", clay.pk)


def _take_bars(request, clay, found) -> None:
    try:
        kept = take_shrinkage(clay, found)
    except ClayTestError as error:
        messages.error(request, str(error))
        return
    words = ", ".join(f"{percent} % to {stage}" for stage, percent in kept.items())
    messages.success(request, f"{clay} is planned with {words}. Plans that use it follow.")
