"""A teacher opens a critique, sees how far it is, marks who is away, ends it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET, require_POST

from rubrics.critique import absences, counts, doors, opening
from rubrics.critique.errors import CritiqueError
from rubrics.critique.pairs import keep_apart, let_together, pairs_of
from rubrics.forms.critique.opening import AbsentForm, ApartForm, BackForm, OpenForm
from rubrics.models import Critique, Look
from studio import access
from studio.models import Student
from studio.web.row_ids import row_id


@require_GET
def critiques(request: HttpRequest, project_id: int) -> HttpResponse:
    """The critiques of a project, and the settings of the eye before its batch."""
    project = get_object_or_404(
        access.projects(request.user).select_related("section"), pk=project_id
    )
    context = {
        "project": project,
        "section": project.section,
        "critiques": counts.with_counts(project.critiques.all()),
        "settings": project.eye_settings.all(),
        "may_change": access.may_change(request.user, project.section),
    }
    return TemplateResponse(request, "rubrics/critique/critiques.html", context)


def critique_new(request: HttpRequest, project_id: int) -> HttpResponse:
    """Choose how a critique goes; the site deals who reads whom."""
    project = access.get_taught_project(request.user, project_id)
    pieces = opening.pieces_to_show(project)
    form = OpenForm(request.POST or None, instance=Critique(project=project), pieces=pieces)
    if request.method == "POST" and form.is_valid():
        try:
            critique = opening.open_critique(
                form.save(commit=False),
                request.user,
                form.cleaned_data["pieces"],
                absent=form.cleaned_data["absent"],
            )
        except CritiqueError as error:
            form.add_error(None, str(error))
        else:
            said = "Grouped" if critique.group_size else "Dealt"
            messages.success(request, f"{said}. Everybody finds what to read on the first page.")
            return redirect("critique", critique.pk)
    context = {
        "form": form,
        "project": project,
        "section": project.section,
        "pieces": pieces,
        "pairs": len(pairs_of(project.section)),
    }
    return TemplateResponse(request, "rubrics/critique/new.html", context)


@require_GET
def critique(request: HttpRequest, critique_id: int) -> HttpResponse:
    """Piece by piece: how many have read it; for its teacher who reads whom."""
    shown = get_object_or_404(counts.with_counts(doors.critiques(request.user)), pk=critique_id)
    may_change = access.may_change(request.user, shown.project.section)
    context = {
        "critique": shown,
        "project": shown.project,
        "section": shown.project.section,
        "rows": _rows(shown, with_readers=may_change),
        "may_change": may_change,
    }
    if may_change:
        context["absent_form"] = _absent_form(shown)
        context["back_form"] = _back_form(shown)
    return TemplateResponse(request, "rubrics/critique/critique.html", context)


def _rows(shown: Critique, *, with_readers: bool) -> list[dict]:
    looks: dict[int, list[Look]] = {}
    if with_readers:
        standing = Look.objects.standing().filter(shown__critique=shown)
        for look in standing.select_related("reader").order_by("reader__name"):
            looks.setdefault(look.shown_id, []).append(look)
    shares = counts.shares(shown)
    return [
        {"shown": each, "share": shares[each.pk], "looks": looks.get(each.pk, [])}
        # Groups stand together, each in the running order; without groups it is the order alone.
        for each in shown.shown.select_related("piece__student", "piece__project").order_by(
            "group", "position", "pk"
        )
    ]


def _makers(shown: Critique, *, absent: bool):
    here = shown.shown.filter(maker_absent=absent).values("piece__student")
    return Student.objects.filter(pk__in=here)


def _absent_form(shown: Critique, data=None) -> AbsentForm:
    return AbsentForm(data, readers=_makers(shown, absent=False))


def _back_form(shown: Critique, data=None) -> BackForm:
    return BackForm(data, readers=_makers(shown, absent=True))


@require_POST
def critique_absent(request: HttpRequest, critique_id: int) -> HttpResponse:
    """Mark who is away, or with ``again`` who is back: what is to read moves along."""
    shown = doors.get_taught_critique(request.user, critique_id)
    again = "again" in request.POST
    form = (_back_form if again else _absent_form)(shown, request.POST)
    if not form.is_valid():
        messages.error(request, " ".join(word for words in form.errors.values() for word in words))
        return redirect("critique", shown.pk)
    try:
        said = _back(shown, form) if again else _away(shown, form)
    except CritiqueError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, said)
    return redirect("critique", shown.pk)


def _away(shown: Critique, form: AbsentForm) -> str:
    done = absences.mark_absent(shown, form.cleaned_data["absent"])
    names = ", ".join(done.names)
    if shown.group_size:
        moved = "The groups have enough without." if not done.taken_up else "Small groups joined."
        return f"{names} marked as away. {moved} Each piece is read by {shown.readers}."
    return f"{names} marked as away. {done.passed_on} to read went to others."


def _back(shown: Critique, form: BackForm) -> str:
    done = absences.mark_back(shown, form.cleaned_data["back"])
    names = ", ".join(done.names)
    if shown.group_size:
        return f"{names} marked as back, at the table where the own piece lies."
    return (
        f"{names} marked as back, with {done.to_read} to read: "
        f"{done.taken_over} taken over from others, {done.added} as one reader more."
    )


@require_POST
def critique_close(request: HttpRequest, critique_id: int) -> HttpResponse:
    """End the writing, or let it go on."""
    shown = doors.get_taught_critique(request.user, critique_id)
    if "again" in request.POST:
        opening.open_again(shown)
        messages.success(request, "Readers can write again.")
    else:
        opening.close(shown)
        messages.success(request, "The writing has ended. Makers still read and answer.")
    return redirect("critique", shown.pk)


def kept_apart(request: HttpRequest, section_id: int) -> HttpResponse:
    """Pairs that never read each other; for the section's teachers alone."""
    section = access.get_taught_section(request.user, section_id)
    if request.method == "POST" and "take_back" in request.POST:
        let_together(section, row_id(request.POST["take_back"]) or 0)
        messages.success(request, "Taken back. It counts from the next deal on.")
        return redirect("kept_apart", section.pk)
    form = ApartForm(request.POST or None, section=section)
    if request.method == "POST" and form.is_valid():
        try:
            keep_apart(section, form.cleaned_data["one"], form.cleaned_data["other"])
        except CritiqueError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Kept apart, from the next deal on.")
            return redirect("kept_apart", section.pk)
    context = {"form": form, "section": section, "pairs": pairs_of(section)}
    return TemplateResponse(request, "rubrics/critique/kept_apart.html", context)
