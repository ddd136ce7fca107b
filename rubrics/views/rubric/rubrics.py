"""Rubrics: the list, one of them, editing, copies and versions, and choosing one for a project."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from rubrics import access as doors
from rubrics.checks.register import figure_of
from rubrics.forms.rubric.rubrics import CriteriaForms, HeadForm, initial_of
from rubrics.models import Criterion, Level, Limit, Rubric, RubricUse
from rubrics.publishing.publish import plain_number
from rubrics.reports.wording import limit_words
from rubrics.rubric import versions
from rubrics.rubric.descriptor_figures import Mismatch, mismatches
from rubrics.rubric.versions import RubricRefused, is_in_use
from studio import access
from studio.web.row_ids import row_id


@dataclass(frozen=True, slots=True)
class RubricRow:
    """One criterion as its page shows it."""

    criterion: Criterion
    weight: str
    share: str
    """Of the whole, in per cent."""
    levels: list[tuple[Level, str, str]]
    """Each with its points, and what its words say otherwise than its limits; "" else."""
    limits: list[tuple[str, list[str]]]
    """What a figure is called, and what levels 4, 3 and 2 reach up to."""


@require_GET
def rubrics(request: HttpRequest) -> HttpResponse:
    """Own rubrics and those that ship with the site, the latest version of each."""
    if not access.is_grown_up(request.user):
        raise PermissionDenied("Your teacher keeps the rubrics; yours are on your pieces' pages.")
    seen = doors.rubrics(request.user).with_counts()
    own = _latest(rubric for rubric in seen if rubric.owner_id == request.user.pk)
    shipped = _latest(rubric for rubric in seen if rubric.owner_id is None)
    others = [r for r in seen if r.owner_id not in (None, request.user.pk)]
    context = {"own": own, "shipped": shipped, "others": others}
    return TemplateResponse(request, "rubrics/rubric/rubrics.html", context)


@require_GET
def rubric(request: HttpRequest, rubric_id: int) -> HttpResponse:
    """One rubric to read, with what may be done with it."""
    found = get_object_or_404(doors.rubrics(request.user).whole(), pk=rubric_id)
    is_own = found.owner_id == request.user.pk
    in_use = is_in_use(found)
    uses = RubricUse.objects.filter(
        rubric=found, project__in=access.projects(request.user)
    ).select_related("project__section")
    context = {
        "rubric": found,
        "rows": criterion_rows(found),
        "level_names": _level_names(found),
        "total": plain_number(sum(each.weight for each in found.criteria.all())),
        "is_own": is_own,
        "in_use": in_use,
        "may_edit": is_own and not in_use,
        "may_copy": access.is_grown_up(request.user),
        "newer": versions.newer_version(found) if is_own else None,
        "uses": uses,
    }
    return TemplateResponse(request, "rubrics/rubric/rubric.html", context)


@require_http_methods(["GET", "POST"])
def rubric_edit(request: HttpRequest, rubric_id: int) -> HttpResponse:
    """Edit an own rubric on one page; refused once a piece was judged by it."""
    found = doors.get_own_rubric(request.user, rubric_id)
    if is_in_use(found):
        messages.warning(
            request, f"Pieces were judged by “{found}”, so it stays as it is. Make a new version."
        )
        return redirect("rubric", found.pk)
    if request.method == "POST":
        head = HeadForm(request.POST, prefix="head")
        criteria = CriteriaForms(request.POST, prefix="criteria")
        # Both are asked, so that every field says what it lacks at once.
        valid = all([head.is_valid(), criteria.is_valid()])
        saved_elsewhere = head["seen"].value() != versions.fingerprint(found)
        if valid and not saved_elsewhere and _save(found, head, criteria):
            messages.success(request, f"“{head.cleaned_data['name']}” is saved.")
            return redirect("rubric", found.pk)
        if saved_elsewhere:
            head = _seen_now(request, found)
        status = 422
    else:
        content = versions.content_of(found)
        head_initial, criteria_initial = initial_of(found.name, content)
        if request.GET.get("figures") == "filled":
            _fill_figures(criteria_initial, content)
        head_initial["seen"] = versions.fingerprint(found)
        head = HeadForm(initial=head_initial, prefix="head")
        saved_elsewhere = False
        criteria = CriteriaForms(initial=criteria_initial, prefix="criteria")
        status = 200
    context = {
        "rubric": found,
        "head": head,
        "criteria": criteria,
        "saved_elsewhere": saved_elsewhere,
        "problems": _problems(head, criteria) if request.method == "POST" else [],
        "weight_sum": plain_number(criteria.weight_sum),
    }
    return TemplateResponse(request, "rubrics/rubric/rubric_edit.html", context, status=status)


def _problems(head: HeadForm, criteria) -> list[tuple[str, str]]:
    """Every field in question: what it is called, and its id to jump to."""
    removed = criteria.deleted_forms if criteria.is_valid() else []
    found = [(field.label, field.id_for_label) for field in head if field.errors]
    for form in criteria.forms:
        if form in removed:
            continue
        letter = form["letter"].value() or "New"
        found += [(f"{letter}: {f.label}", f.id_for_label) for f in form if f.errors]
    return found


def _seen_now(request: HttpRequest, found: Rubric) -> HeadForm:
    """The head as it was sent, now knowing of the other window's save: sent again, it stands."""
    data = request.POST.copy()
    data["head-seen"] = versions.fingerprint(found)
    return HeadForm(data, prefix="head")


def _save(found: Rubric, head: HeadForm, criteria) -> bool:
    data = head.cleaned_data
    content = [form.content(data) for form in criteria.kept]
    try:
        versions.save_rubric(found, name=data["name"], criteria=content)
    except RubricRefused as refused:
        head.add_error("name", str(refused))
        return False
    return True


@require_POST
def rubric_copy(request: HttpRequest, rubric_id: int) -> HttpResponse:
    """Take a copy of one's own, to edit."""
    if not access.is_grown_up(request.user):
        raise PermissionDenied("Your teacher keeps the rubrics.")
    found = get_object_or_404(doors.rubrics(request.user), pk=rubric_id)
    made = versions.copy_rubric(found, request.user)
    messages.success(request, f"“{made}” is yours to edit.")
    return redirect("rubric_edit", made.pk)


@require_POST
def rubric_version(request: HttpRequest, rubric_id: int) -> HttpResponse:
    """Make the next version of an own rubric, to edit."""
    found = doors.get_own_rubric(request.user, rubric_id)
    made = versions.new_version(found, request.user)
    messages.success(
        request, f"“{made}” can be edited. Projects keep the version they have until you move them."
    )
    return redirect("rubric_edit", made.pk)


@require_http_methods(["GET", "POST"])
def rubric_choose(request: HttpRequest, project_id: int) -> HttpResponse:
    """Choose the rubric by which a project is judged."""
    project = access.get_taught_project(request.user, project_id)
    choices = doors.rubrics(request.user).with_counts()
    if request.method == "POST":
        try:
            chosen = choices.get(pk=row_id(request.POST.get("rubric", "")))
        except Rubric.DoesNotExist:
            messages.error(request, "Choose one of the rubrics first.")
            return redirect("rubric_choose", project.pk)
        try:
            versions.choose_rubric(project, chosen)
        except RubricRefused as refused:
            messages.error(request, str(refused))
            return redirect("rubric_choose", project.pk)
        messages.success(request, f"“{project}” is judged by “{chosen}”.")
        return redirect("project", project.pk)
    use = RubricUse.objects.filter(project=project).first()
    context = {"project": project, "choices": choices, "now": use.rubric_id if use else None}
    return TemplateResponse(request, "rubrics/rubric/rubric_choose.html", context)


def criterion_rows(rubric: Rubric) -> list[RubricRow]:
    """The criteria of a rubric that was fetched whole, in words."""
    criteria = list(rubric.criteria.all())
    total = sum(each.weight for each in criteria)
    return [
        RubricRow(
            criterion=criterion,
            weight=plain_number(criterion.weight),
            share=f"{100 * criterion.weight / total:.0f} %",
            levels=_levels(criterion),
            limits=[_limit_words(limit) for limit in criterion.limits.all()],
        )
        for criterion in criteria
    ]


def _levels(criterion: Criterion) -> list[tuple[Level, str, str]]:
    levels = criterion.levels.all()
    said = {each.level: each.words for each in _mismatches(levels, criterion.limits.all())}
    return [(level, plain_number(level.points), said.get(level.number, "")) for level in levels]


def _mismatches(levels, limits) -> list[Mismatch]:
    """Where the words of a criterion's levels name a figure that is none of its limits."""
    return mismatches(
        [(level.number, level.descriptor) for level in levels],
        [(each.figure, [float(bound) for bound in (each.a, each.b, each.c)]) for each in limits],
    )


def _fill_figures(initial: list[dict], content) -> None:
    """Put the limits' figures into the words of an editor that starts, where it is plain which."""
    for start, criterion in zip(initial, content, strict=True):
        for each in _mismatches(criterion.levels, criterion.limits):
            start[f"descriptor_{each.level}"] = each.offered or start[f"descriptor_{each.level}"]


def _limit_words(limit: Limit) -> tuple[str, list[str]]:
    figure = limit.figure.partition(".")[2]
    label = figure_of(limit.figure).label
    bounds = ((4, limit.a), (3, limit.b), (2, limit.c))
    return label, [f"{number} up to {limit_words(figure, float(b))}" for number, b in bounds]


def _level_names(rubric: Rubric) -> list[Level]:
    first = next(iter(rubric.criteria.all()), None)
    return list(first.levels.all()) if first else []


def _latest(rubrics) -> list[Rubric]:
    """The latest version of each name; rubrics come in order of name, latest first."""
    latest: dict[str, Rubric] = {}
    for each in rubrics:
        latest.setdefault(each.name, each)
    return list(latest.values())
