"""Pages for families: a section's list, one student's preview with its words, printing."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from datetime import time

import pypdfium2
from django.contrib import messages
from django.db import transaction
from django.forms import BoundField
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from rubrics.families import print_runs
from rubrics.families.conference_times import TimesError, slots
from rubrics.families.portfolios import (
    WORDS,
    ChangedMeanwhile,
    enrolled,
    family_pages,
    keep_times,
    keep_words,
    report_of,
)
from rubrics.forms.families.reports import FillTimesForm, PrintForm, ReportForm, TimesForm
from rubrics.models import Assessment, Report
from rubrics.reports.family import FamilyPage
from rubrics.reports.paper.family_top import step_words, strong_points
from rubrics.reports.portfolio import Printed, portfolio_pdf
from studio import access
from studio.models import Section, Student

PREVIEW_DOTS_AN_INCH = 110
POINTS_AN_INCH = 72
PAST_ALL = time.max


@dataclass(frozen=True, slots=True)
class ReportLine:
    """One student of the section's list."""

    student: Student
    code: str
    at: time | None
    time_field: BoundField
    language_field: BoundField


def report_section(request: HttpRequest, section_id: int) -> HttpResponse:
    """The students of a section, each with a time and a language, and the form to print all."""
    section = access.get_taught_section(request.user, section_id)
    students = enrolled(section)
    reports = {each.student_id: each for each in Report.objects.filter(section=section)}
    times = {pk: each.conference_at for pk, each in reports.items()}
    day = max((each.conference_on for each in reports.values() if each.conference_on), default=None)
    fills = request.method == "POST" and "fill" in request.POST
    fill_form = FillTimesForm(request.POST if fills else None, initial={"on": day})
    if fills and fill_form.is_valid() and _fill(section, students, fill_form):
        messages.success(request, "The times are filled, in the order of the list.")
        return redirect("report_section", section.pk)
    form = TimesForm(
        request.POST if request.method == "POST" and not fills else None,
        students=students,
        times=times,
    )
    if form.is_bound and form.is_valid():
        with transaction.atomic():
            keep_times(section, form.times(), day)
            Student.objects.bulk_update(form.new_languages(), ["family_language"])
        messages.success(request, "The times and languages are kept.")
        return redirect("report_section", section.pk)
    codes = _latest_codes(section)
    lines = [
        ReportLine(
            student,
            codes.get(student.pk, ""),
            times.get(student.pk),
            form[f"time-{student.pk}"],
            form[f"language-{student.pk}"],
        )
        for student in students
    ]
    context = {
        "section": section,
        "form": form,
        "lines": lines,
        "ready": sum(bool(line.code) for line in lines),
        "print_form": PrintForm(),
        "fill_form": fill_form,
        "day": day,
    }
    return TemplateResponse(request, "rubrics/families/section.html", context)


def _fill(section: Section, students: list[Student], form: FillTimesForm) -> bool:
    """Give every student of the list the next time; where it cannot be, the form says why."""
    told = form.cleaned_data
    try:
        begun = slots(told["first"], told["minutes"], len(students), told["pause"])
    except TimesError as error:
        form.add_error(None, str(error))
        return False
    keep_times(section, {each.pk: at for each, at in zip(students, begun, strict=True)}, told["on"])
    return True


def report_preview(request: HttpRequest, section_id: int, student_id: int) -> HttpResponse:
    """One page as it will be printed, beside the words that can still be changed."""
    section, student = _student(request, section_id, student_id)
    report = report_of(section, student)
    form = ReportForm(
        request.POST or None,
        instance=report,
        initial={"seen": report.version, "family_language": student.family_language},
    )
    if request.method == "POST" and form.is_valid():
        words = {name: form.cleaned_data[name] for name in WORDS}
        try:
            with transaction.atomic():
                keep_words(section, student, request.user, seen=form.cleaned_data["seen"], **words)
                student.family_language = form.cleaned_data["family_language"]
                student.save(update_fields=["family_language"])
        except ChangedMeanwhile as error:
            form.add_error(None, str(error))
            form.data = form.data.copy()
            form.data["seen"] = Report.objects.get(section=section, student=student).version
        else:
            messages.success(request, "The page is kept.")
            return redirect("report_preview", section.pk, student.pk)
    page = next(family_pages(section, [student], day=timezone.localdate()), None)
    printed = None if page is None else portfolio_pdf([page], title="Preview")
    context = {
        "section": section,
        "student": student,
        "form": form,
        "page": page,
        "sheets": [] if printed is None else range(1, _count(printed.pdf) + 1),
        "cuts": printed.cuts[0] if printed else (),
        "proposed": _proposed(page),
    }
    return TemplateResponse(request, "rubrics/families/preview.html", context)


def _proposed(page: FamilyPage | None) -> dict:
    """What is printed where the teacher writes nothing, in English."""
    if page is None:
        return {}
    unwritten = replace(page, strength="", strength_too="", next_step="")
    return {"points": strong_points(unwritten), "step": step_words(unwritten)}


@require_GET
def report_picture(
    request: HttpRequest, section_id: int, student_id: int, sheet: int
) -> HttpResponse:
    """One sheet of a student's page as a picture: what the printer will make of it."""
    section, student = _student(request, section_id, student_id)
    with pypdfium2.PdfDocument(_one(section, student, request).pdf) as document:
        if not 1 <= sheet <= len(document):
            raise Http404("There is no such sheet.")
        bitmap = document[sheet - 1].render(scale=PREVIEW_DOTS_AN_INCH / POINTS_AN_INCH)
        written = io.BytesIO()
        bitmap.to_pil().save(written, "PNG")
    return HttpResponse(written.getvalue(), content_type="image/png")


@require_GET
def report_pdf(request: HttpRequest, section_id: int, student_id: int) -> HttpResponse:
    """One student's page on paper."""
    section, student = _student(request, section_id, student_id)
    # The number alone: a file name travels further than the paper.
    return _as_pdf(_one(section, student, request).pdf, f"family-page-{student.pk}.pdf")


@require_GET
def report_all(request: HttpRequest, section_id: int) -> HttpResponse:
    """A whole section in one go, for a browser without scripts."""
    section = access.get_taught_section(request.user, section_id)
    asked = _asked(request, section, request.GET)
    document = print_runs.printed(section, asked.students, asked)
    if not document:
        messages.warning(request, "Nothing of this section is published yet: publish, then print.")
        return redirect("report_section", section.pk)
    return _as_pdf(document, "family-pages.pdf")


@require_POST
def report_run(request: HttpRequest, section_id: int) -> HttpResponse:
    """Begin to print a section in chunks: how many there are, and where to ask for them."""
    section = access.get_taught_section(request.user, section_id)
    asked = _asked(request, section, request.POST)
    if not asked.students:
        return JsonResponse({"said": "Nothing of this section is published yet."}, status=409)
    run = print_runs.start(asked)
    return JsonResponse(
        {
            "chunks": [
                reverse("report_chunk", args=[section.pk, run, number])
                for number in range(asked.chunks)
            ],
            "joined": reverse("report_joined", args=[section.pk, run]),
            "stop": reverse("report_stop", args=[section.pk, run]),
            "students": len(asked.students),
        }
    )


@require_POST
def report_chunk(request: HttpRequest, section_id: int, run, number: int) -> HttpResponse:
    """Print one chunk."""
    section, asked = _run(request, section_id, run)
    try:
        print_runs.print_chunk(run, asked, section, number)
    except print_runs.NoRun as error:
        raise Http404("This printing was stopped.") from error
    done = min((number + 1) * print_runs.CHUNK, len(asked.students))
    return JsonResponse({"done": done})


@require_GET
def report_joined(request: HttpRequest, section_id: int, run) -> HttpResponse:
    """The whole document, once every chunk is there."""
    section, asked = _run(request, section_id, run)
    try:
        joined = print_runs.join(run, asked, section)
    except print_runs.NoRun as error:
        raise Http404("This printing is not finished, or was stopped.") from error
    return FileResponse(
        joined.open("rb"), filename="family-pages.pdf", content_type="application/pdf"
    )


@require_POST
def report_stop(request: HttpRequest, section_id: int, run) -> HttpResponse:
    """Stop a printing and remove what it made."""
    _run(request, section_id, run)
    print_runs.stop(run)
    return JsonResponse({"said": "Stopped; nothing was kept."})


def _run(request: HttpRequest, section_id: int, run) -> tuple[Section, print_runs.PrintOrder]:
    section = access.get_taught_section(request.user, section_id)
    try:
        return section, print_runs.asked_of(run, section=section, user=request.user)
    except print_runs.NoRun as error:
        raise Http404("There is no such printing of yours.") from error


def _student(request: HttpRequest, section_id: int, student_id: int) -> tuple[Section, Student]:
    section = access.get_taught_section(request.user, section_id)
    return section, get_object_or_404(Student, enrolments__section=section, pk=student_id)


def _one(section: Section, student: Student, request: HttpRequest) -> Printed:
    page = next(family_pages(section, [student], day=timezone.localdate()), None)
    if page is None:
        raise Http404("Nothing of this student is published yet.")
    return portfolio_pdf(
        [page],
        title=f"Page for the family, {section}",
        pagesize="a4" if request.GET.get("paper") == "a4" else "letter",
        grey=request.GET.get("inks") == "grey",
    )


def _asked(request: HttpRequest, section: Section, data) -> print_runs.PrintOrder:
    """What was asked for; a choice that is none is taken for the first."""
    form = PrintForm(data)
    form.is_valid()
    chosen = form.cleaned_data
    return print_runs.PrintOrder(
        section=section.pk,
        user=request.user.pk,
        students=tuple(_in_order(section, chosen.get("order", "name"))),
        day=timezone.localdate().isoformat(),
        pagesize=chosen.get("paper", "letter"),
        grey=chosen.get("inks") == "grey",
        more_pieces=bool(chosen.get("more")),
    )


def _in_order(section: Section, order: str) -> list[int]:
    """Ids of the students of whom something is published."""
    codes = _latest_codes(section)
    students = [each for each in enrolled(section) if each.pk in codes]
    if order == "code":
        students.sort(key=lambda each: codes[each.pk])
    if order == "time":
        at = dict(Report.objects.filter(section=section).values_list("student_id", "conference_at"))
        students.sort(key=lambda each: at.get(each.pk) or PAST_ALL)
    return [each.pk for each in students]


def _latest_codes(section: Section) -> dict[int, str]:
    """The code of the latest published piece, by student id."""
    rows = (
        Assessment.objects.by_teacher()
        .published()
        .filter(piece__section=section)
        .order_by("piece__project__number", "-piece__code")
        .values_list("piece__student_id", "piece__code")
    )
    return dict(rows)


def _count(document: bytes) -> int:
    with pypdfium2.PdfDocument(document) as opened:
        return len(opened)


def _as_pdf(document: bytes, name: str) -> HttpResponse:
    response = HttpResponse(document, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response
