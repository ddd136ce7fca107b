"""Rubrics out and in as CASE JSON, the open standard for frameworks and rubrics."""

from __future__ import annotations

import json

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_safe

from rubrics import access as doors
from rubrics.exports import case
from rubrics.forms.exports.results import CaseForm
from rubrics.rubric.versions import content_of, take_rubric
from studio import access

PAGE = "rubrics/exports/case_in.html"


@require_safe
def rubric_case(request: HttpRequest, rubric_id: int) -> HttpResponse:
    """One rubric as a CASE document."""
    rubric = get_object_or_404(doors.rubrics(request.user), pk=rubric_id)
    uri = request.build_absolute_uri(reverse("rubric", args=[rubric.pk]))
    said = case.document(
        rubric.name, content_of(rubric), uid=rubric.uid, uri=uri, at=rubric.changed_at
    )
    data = json.dumps(said, ensure_ascii=False, indent=1)
    response = HttpResponse(data, content_type="application/json")
    name = slugify(rubric.name) or f"rubric-{rubric.pk}"
    response["Content-Disposition"] = f'attachment; filename="{name}.case.json"'
    response["X-Content-Type-Options"] = "nosniff"
    return response


@require_http_methods(["GET", "POST"])
def rubric_case_in(request: HttpRequest) -> HttpResponse:
    """A rubric out of a CASE document: look at it, take it as an own one."""
    if not access.is_grown_up(request.user):
        raise PermissionDenied("Your teacher keeps the rubrics.")
    context = {"form": CaseForm()}
    if request.method != "POST":
        return TemplateResponse(request, PAGE, context)
    if "text" in request.POST:
        text = request.POST["text"]
    else:
        form = context["form"] = CaseForm(request.POST, request.FILES)
        if not form.is_valid():
            return TemplateResponse(request, PAGE, context, status=422)
        text = form.cleaned_data["file"].read().decode("utf-8-sig", errors="replace")
    try:
        incoming = case.read(text.encode())
    except case.CaseError as error:
        context["refused"] = str(error)
        return TemplateResponse(request, PAGE, context, status=422)
    context |= {"incoming": incoming, "text": text}
    if incoming.problems:
        return TemplateResponse(request, PAGE, context, status=422)
    if "keep" not in request.POST:
        return TemplateResponse(request, PAGE, context)
    made = take_rubric(incoming.name, incoming.criteria, request.user)
    messages.success(request, f"“{made.name}” is yours now.")
    return redirect("rubric", made.pk)
