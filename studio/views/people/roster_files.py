"""Class lists from files: CSV, XLSX and OneRoster, looked at first, then taken whole or not."""

from hashlib import sha256

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from studio import access
from studio.forms.people.roster_files import ClassesForm, LayoutForm, ListForm, PackageForm
from studio.forms.people.students import RosterForm
from studio.people import oneroster, roster_compare, roster_file, tables
from studio.people.sections import RegisterError, change_rosters
from studio.views.people.students import said_asked
from studio.web.waiting import number_of

CHANGED_MEANWHILE = (
    "While you looked, the classes or what you chose above changed. Nothing was taken yet; this is "
    "how it stands now."
)
IN_PAGE, IN_ONEROSTER = "studio/people/roster_in.html", "studio/people/oneroster_in.html"


@require_http_methods(["GET", "POST"])
def roster_in(request, section_id):
    """A class list from a CSV or XLSX: choose it, say what its columns hold, look, take it."""
    section = access.get_taught_section(request.user, section_id)
    context = {"section": section, "form": ListForm()}
    if request.method != "POST":
        return TemplateResponse(request, IN_PAGE, context)
    try:
        if "table" in request.POST:
            return _list_again(request, context, tables.Table.from_text(request.POST["table"]))
        form = context["form"] = ListForm(request.POST, request.FILES)
        if not form.is_valid():
            return TemplateResponse(request, IN_PAGE, context, status=422)
        table = tables.read(form.cleaned_data["file"].read())
    except tables.TableError as error:
        context["refused"] = str(error)
        return TemplateResponse(request, IN_PAGE, context, status=422)
    layout = roster_file.guess(table)
    return _list_page(request, context, LayoutForm(table=table, layout=layout), layout=layout)


def _list_again(request, context, table):
    """The list came back from the page: with other columns, or to be taken."""
    guessed = roster_file.guess(table)
    form = LayoutForm(request.POST, table=table, layout=guessed)
    if not form.is_valid():
        return _list_page(request, context, form, layout=guessed, status=422)
    layout = form.layout()
    if "keep" not in request.POST:
        return _list_page(request, context, form, layout=layout)
    lines, problems = roster_file.lines(table, layout)
    look = roster_compare.compare_with_section(request.user, context["section"], lines)
    if problems or look.seal != request.POST.get("seal"):
        messages.warning(request, CHANGED_MEANWHILE)
        return _list_page(request, context, form, layout=layout, status=409)
    answers = RosterForm(
        request.POST, proposals=look.proposals, absent=look.absent, leaves=look.leaves
    )
    if answers.is_valid():
        change = roster_compare.change(look, answers.answers(), answers.leaving())
        if _taken(request, [change], answers):
            return redirect("students", context["section"].pk)
    return _list_page(request, context, form, layout=layout, answers=answers, status=422)


def _list_page(request, context, form, *, layout, answers=None, status=200):
    table = form.table
    lines, problems = roster_file.lines(table, layout)
    context |= {"table": table, "layout_form": form, "problems": problems, "notes": table.notes}
    if problems:
        return TemplateResponse(request, IN_PAGE, context, status=422 if status == 200 else status)
    look = roster_compare.compare_with_section(request.user, context["section"], lines)
    context |= {"look": look, "answers": answers or _unanswered(look)}
    return TemplateResponse(request, IN_PAGE, context, status=status)


def _unanswered(look, prefix=None) -> RosterForm:
    return RosterForm(
        proposals=look.proposals, absent=look.absent, leaves=look.leaves, prefix=prefix
    )


def _taken(request, changes, *forms) -> bool:
    """Whether the lists were taken; a refusal stands at the first form."""
    try:
        joined, left, asked = change_rosters(changes, by=request.user)
    except RegisterError as error:
        forms[0].add_error(None, str(error))
        return False
    if joined or left:
        left_said = f", {left} left" if left else ""
        said = f"{number_of(joined, 'student', 'students')} joined{left_said}."
    elif asked:
        said = "Nobody joined yet."
    else:
        said = "Nothing to change: the list is what stands here."
    if asked:
        messages.warning(request, said_asked(asked))
    messages.success(request, said)
    return True


@require_http_methods(["GET", "POST"])
def oneroster_in(request):
    """Classes out of a OneRoster export: choose which goes where, look, take them."""
    if not access.is_teacher(request.user):
        raise PermissionDenied("Only a teacher brings in classes.")
    context = {"form": PackageForm()}
    if request.method != "POST":
        return TemplateResponse(request, IN_ONEROSTER, context)
    try:
        if "package" in request.POST:
            package = oneroster.Package.from_text(request.POST["package"])
            return _classes_page(request, context, package)
        form = context["form"] = PackageForm(request.POST, request.FILES)
        if not form.is_valid():
            return TemplateResponse(request, IN_ONEROSTER, context, status=422)
        files = {file.name: file.read() for file in form.cleaned_data["files"]}
        package = oneroster.read(files, today=timezone.localdate())
    except oneroster.PackageError as error:
        context["refused"] = str(error)
        return TemplateResponse(request, IN_ONEROSTER, context, status=422)
    if package.problems:
        context["problems"] = package.problems
        return TemplateResponse(request, IN_ONEROSTER, context, status=422)
    context["notes"] = package.notes
    return _classes_page(request, context, package)


def _classes_page(request, context, package):
    """The classes with their sections, and below them what each of these lists would do."""
    sections = list(access.taught_sections(request.user).filter(archived_at=None))
    came_back = "package" in request.POST
    # Counted afresh as the page will carry them back, so that each line keeps its place.
    package = oneroster.Package.from_text(package.as_text())
    form = ClassesForm(
        request.POST if came_back else None, classes=package.classes, sections=sections
    )
    context |= {"classes": form, "package": package, "no_section": not sections}
    if not came_back:
        return TemplateResponse(request, IN_ONEROSTER, context)
    if not form.is_valid():
        return TemplateResponse(request, IN_ONEROSTER, context, status=422)
    pairs = form.pairs()
    looks = [
        (each, roster_compare.compare_with_section(request.user, section, each.lines))
        for each, section in pairs
    ]
    seal = sha256("".join(look.seal for _each, look in looks).encode()).hexdigest()
    context |= {"seal": seal, "nothing_chosen": not pairs}
    status = 200
    if "keep" in request.POST and pairs:
        if seal == request.POST.get("seal"):
            return _take_classes(request, context, looks)
        messages.warning(request, CHANGED_MEANWHILE)
        status = 409
    context["looks"] = [(each, look, _unanswered(look, _prefix(look))) for each, look in looks]
    return TemplateResponse(request, IN_ONEROSTER, context, status=status)


def _prefix(look) -> str:
    return f"s{look.section.pk}"


def _take_classes(request, context, looks):
    filled = [
        (
            each,
            look,
            RosterForm(
                request.POST,
                proposals=look.proposals,
                absent=look.absent,
                leaves=look.leaves,
                prefix=_prefix(look),
            ),
        )
        for each, look in looks
    ]
    valid = [form.is_valid() for _each, _look, form in filled]  # every one, to show all sentences
    if all(valid):
        changes = [
            roster_compare.change(look, form.answers(), form.leaving(), each.sourced_id)
            for each, look, form in filled
        ]
        if _taken(request, changes, *(form for _each, _look, form in filled)):
            return redirect("today")
    context["looks"] = filled
    return TemplateResponse(request, IN_ONEROSTER, context, status=422)
