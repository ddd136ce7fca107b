"""Readings as a file: out for a spreadsheet, and in after a look."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from studio import access
from studio.forms.measuring.readings import FileForm
from studio.measuring import readings_csv, readings_import
from studio.measuring.readings import ConflictError
from studio.measuring.sheet import choose_set
from studio.models import Stage
from studio.ware.quantities import QUANTITIES
from studio.ware.stations import TITLES, USUAL_SET

CHANGED_MEANWHILE = (
    "While you looked, readings of these stations were changed. Nothing was taken yet; "
    "this is how it stands now."
)


@require_safe
def readings_export(request, project_id):
    """All current readings of a project, or of one stage, as CSV.

    ``?form=wide`` is a line a piece; ``?form=empty&set=…`` one without values, for a sheet's
    stations.
    """
    project = get_object_or_404(access.projects(request.user), pk=project_id)
    stage = request.GET.get("stage", "")
    stage = stage if stage in Stage.values else ""
    form = request.GET.get("form", "")
    if form == "empty":
        key = request.GET.get("set", "")
        stage = stage or Stage.LEATHER_HARD
        chosen = choose_set(project, key if key in TITLES else USUAL_SET, stage)
        data = readings_import.empty_form(project, stage, chosen.columns)
        form = chosen.key
    elif form == "wide":
        data = readings_import.export_wide(project, stage=stage)
    else:
        data, form = readings_import.export(project, stage=stage), ""
    parts = (project.title, stage, form, "readings")
    name = "-".join(slugify(part) for part in parts if slugify(part))
    response = HttpResponse(data, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    response["X-Content-Type-Options"] = "nosniff"
    return response


def import_readings(request, project_id):
    """Choose a file, look at what it would do, take it or not."""
    project = access.get_taught_project(request.user, project_id)
    instruments = list(access.instruments(request.user))
    context = {
        "project": project,
        "form": FileForm(),
        "columns": readings_csv.COLUMNS,
        "quantities": QUANTITIES.values(),
    }
    if request.method != "POST":
        return TemplateResponse(request, "studio/measuring/import.html", context)
    if "seal" in request.POST:
        return _take(request, project, instruments, context)
    form = FileForm(request.POST, request.FILES)
    if not form.is_valid():
        status, context["form"] = 422, form
        return TemplateResponse(request, "studio/measuring/import.html", context, status=status)
    return _look(request, project, instruments, context, form.cleaned_data["file"].read())


def _look(request, project, instruments, context, data):
    look = readings_import.preview(project, data, instruments)
    context |= {"look": look, "text": "" if look.problems else readings_csv.decode(data)}
    status = 422 if look.problems else 200
    return TemplateResponse(request, "studio/measuring/import.html", context, status=status)


def _take(request, project, instruments, context):
    data = request.POST.get("text", "").encode()
    try:
        saved = readings_import.take(
            project, data, instruments, by=request.user, seal=request.POST["seal"]
        )
    except readings_import.NotTakenError as error:
        look = error.preview
        if not look.problems:
            messages.warning(request, CHANGED_MEANWHILE)
        context |= {"look": look, "text": "" if look.problems else data.decode()}
        return TemplateResponse(request, "studio/measuring/import.html", context, status=409)
    except ConflictError:
        messages.warning(request, CHANGED_MEANWHILE)
        return _look(request, project, instruments, context, data)
    messages.success(
        request,
        f"{saved.new} new, {saved.corrected} superseded, {saved.same} were there already.",
    )
    return redirect("measure", project.pk)
