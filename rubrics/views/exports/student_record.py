"""A student's whole record, for the teacher to keep or to hand over."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.template.response import TemplateResponse
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods

from rubrics.exports import record
from studio import access
from studio.models import Piece
from studio.people import act_log


@require_http_methods(["GET", "POST"])
def student_record(request: HttpRequest, student_id: int) -> HttpResponse:
    """Say what the record holds; send it."""
    student = access.get_kept_student(request.user, student_id)
    pieces = access.taught_pieces(request.user).filter(student=student)
    enrolments = access.own_enrolments(request.user).filter(student=student).exclude(note="")
    note = "\n\n".join(enrolments.values_list("note", flat=True))
    if request.method != "POST":
        elsewhere = Piece.objects.filter(student=student).exclude(pk__in=pieces.values("pk"))
        context = {
            "student": student,
            "count": pieces.count(),
            "is_elsewhere": elsewhere.exists(),
            "has_note": bool(note.strip()),
        }
        return TemplateResponse(request, "rubrics/exports/student_record.html", context)
    act_log.note(act_log.Kind.SAVED, [student], by=request.user, to_former=True)
    wanted = note if "with_note" in request.POST else ""
    named = record.parts(student, list(record.whole(pieces)), note=wanted)
    response = StreamingHttpResponse(record.stream(named), content_type="application/zip")
    name = slugify(student.school_id) or f"student-{student.pk}"
    response["Content-Disposition"] = f'attachment; filename="record-{name}.zip"'
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "no-store"
    return response
