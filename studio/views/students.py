"""Students: the class list, one student, and the student's login."""

from django.contrib import messages
from django.db.models import Q
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.utils.cache import add_never_cache_headers
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from studio import access, registers, roster
from studio.forms.students import ADD, JOIN, LoginForm, PasteForm, RosterForm, StudentForm
from studio.models import Section, Student
from studio.waiting import number_of

ELSEWHERE_IN_THE_HOUSE = "another class of the house"


def students(request, section_id):
    """The class list; its teacher adds to it by pasting, looks, and then decides."""
    section = get_object_or_404(access.read_sections(request.user), pk=section_id)
    if request.method != "POST":
        return _class_list(request, section, PasteForm())
    section = access.get_taught_section(request.user, section_id)
    if "logins" in request.POST:
        return _new_logins(request, section)
    paste = PasteForm(request.POST)
    if not paste.is_valid():
        return _class_list(request, section, paste)
    known = _known(request.user, section, paste.lines)
    proposals = roster.compare(paste.lines, list(known))
    if "keep" not in request.POST:
        return _class_list(request, section, paste, RosterForm(proposals=proposals))
    answers = RosterForm(request.POST, proposals=proposals)
    if answers.is_valid():
        try:
            joined = registers.enrol(section, _joining(answers, known))
        except registers.RegisterError as error:
            answers.add_error(None, str(error))
        else:
            messages.success(request, f"{number_of(len(joined), 'student', 'students')} joined.")
            return redirect("students", section.pk)
    return _class_list(request, section, paste, answers)


def _new_logins(request, section):
    """Every new user name and password, shown this once to be printed and cut apart."""
    given = registers.give_logins(section)
    if not given:
        messages.success(request, "Every student here has a login already.")
        return redirect("students", section.pk)
    response = TemplateResponse(
        request, "studio/students/new_logins.html", {"section": section, "given": given}
    )
    add_never_cache_headers(response)
    return response


def _class_list(request, section, paste, answers=None):
    enrolments = section.enrolments.select_related("student", "student__login")
    here = list(enrolments.filter(left_on=None).order_by("student__name"))
    return TemplateResponse(
        request,
        "studio/students/class_list.html",
        {
            "section": section,
            "paste": paste,
            "answers": answers,
            "here": here,
            "without_login": sum(1 for each in here if each.student.login_id is None),
            "left": enrolments.exclude(left_on=None).order_by("student__name"),
            "may_change": access.may_change(request.user, section),
        },
    )


def _known(user, section: Section, lines) -> dict[roster.Known, Student]:
    """Students a pasted line may be: those the teacher sees, and those of its school number."""
    numbers = [line.number for line in lines if line.number]
    visible = access.students(user).values("pk")
    found = (
        Student.objects.filter(Q(pk__in=visible) | Q(school_id__in=numbers))
        .distinct()
        .prefetch_related("enrolments__section")
    )
    mine = set(access.read_sections(user).values_list("pk", flat=True))
    known = {}
    for student in found:
        here = [e for e in student.enrolments.all() if e.section_id == section.pk]
        elsewhere = [str(e.section) for e in student.enrolments.all() if e.section_id in mine]
        known[
            roster.Known(
                student.pk,
                student.name,
                student.school_id,
                "" if here else (elsewhere or [ELSEWHERE_IN_THE_HOUSE])[0],
                bool(here and here[0].left_on),
            )
        ] = student
    return known


def _joining(answers: RosterForm, known) -> list[registers.Joining]:
    joining = []
    for proposal, answer in answers.answers():
        if answer == ADD:
            joining.append(registers.Joining(proposal.line.name, proposal.line.number))
        elif answer == JOIN:
            joining.append(registers.Joining(student=known[proposal.known]))
    return joining


def student(request, student_id):
    """A student's record: changed by a teacher, read by a head without the private note."""
    shown = get_object_or_404(access.students(request.user).select_related("login"), pk=student_id)
    may_change = access.taught_students(request.user).filter(pk=shown.pk).exists()
    if request.method == "POST":
        shown = access.get_taught_student(request.user, student_id)
    form = StudentForm(request.POST or None, instance=shown) if may_change else None
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"What is on record for {shown.name} is changed.")
        return redirect("student", shown.pk)
    return _student_page(request, shown, form)


def _student_page(request, shown, form, login_form=None):
    taught = access.taught_sections(request.user)
    enrolments = shown.enrolments.filter(
        section__in=access.read_sections(request.user)
    ).select_related("section")
    taught_ids = set(taught.values_list("pk", flat=True))
    return TemplateResponse(
        request,
        "studio/students/student.html",
        {
            # The record as it stands, not as a refused form left it.
            "student": Student.objects.select_related("login").get(pk=shown.pk),
            "form": form,
            "login_form": login_form
            or LoginForm(initial={"username": registers.propose_username(shown.name)}),
            "enrolments": [(each, each.section_id in taught_ids) for each in enrolments],
            "pieces": access.pieces(request.user).filter(student=shown).for_list().with_face(),
        },
    )


@require_POST
def student_leave(request, student_id, section_id):
    """End a student's time in a section, or take the student back."""
    section = access.get_taught_section(request.user, section_id)
    enrolment = get_object_or_404(
        section.enrolments.select_related("student"), student_id=student_id
    )
    if enrolment.left_on:
        registers.take_back(section, enrolment.student)
        messages.success(request, f"{enrolment.student.name} is in {section.name} again.")
    else:
        registers.retire(section, enrolment.student)
        messages.success(
            request,
            f"{enrolment.student.name} has left {section.name}. Pieces and marks are kept.",
        )
    return redirect("students", section.pk)


@never_cache
@require_POST
def student_login(request, student_id):
    """Give a login or a new password, shown once on this answer; or close the login."""
    shown = access.get_taught_student(request.user, student_id)
    record = StudentForm(instance=shown)
    if "close" in request.POST:
        try:
            registers.take_login(shown)
        except registers.RegisterError as error:
            messages.error(request, str(error))
        else:
            messages.success(request, f"{shown.name} cannot sign in any more.")
        return redirect("student", shown.pk)
    form = LoginForm(request.POST) if shown.login is None else None
    if form is not None and not form.is_valid():
        return _student_page(request, shown, record, form)
    try:
        word = registers.give_login(shown, form.cleaned_data["username"] if form else "")
    except registers.RegisterError as error:
        if form is None:
            messages.error(request, str(error))
            return redirect("student", shown.pk)
        form.add_error("username", str(error))
        return _student_page(request, shown, record, form)
    return TemplateResponse(
        request, "studio/students/new_login.html", {"student": shown, "word": word}
    )
