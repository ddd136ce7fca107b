"""Students: the class list, one student, and the student's login."""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from studio import access
from studio.forms.people.students import LoginForm, PasteForm, RosterForm, StudentForm
from studio.models import Student
from studio.paper.code_slips import code_slips_pdf
from studio.people import enrolment_requests, roster_compare, sections
from studio.people.sign_in_codes import VALID
from studio.people.user_names import propose_username
from studio.projects.piece_outlines import give_outlines
from studio.views.web.paper_answers import paper_named, papers_for, pdf
from studio.web.waiting import number_of


def students(request, section_id):
    """The class list; its teacher adds to it by pasting, looks, and then decides."""
    section = get_object_or_404(access.read_sections(request.user), pk=section_id)
    if request.method != "POST":
        return _class_list(request, section, PasteForm())
    section = access.get_taught_section(request.user, section_id)
    paste = PasteForm(request.POST)
    if not paste.is_valid():
        return _class_list(request, section, paste)
    look = roster_compare.compare_with_section(request.user, section, paste.lines)
    proposals = look.proposals
    if "keep" not in request.POST:
        return _class_list(request, section, paste, RosterForm(proposals=proposals))
    answers = RosterForm(request.POST, proposals=proposals)
    if answers.is_valid():
        try:
            joined, asked = sections.enrol(
                section, roster_compare.joining(look, answers.answers()), by=request.user
            )
        except sections.RegisterError as error:
            answers.add_error(None, str(error))
        else:
            messages.success(request, f"{number_of(len(joined), 'student', 'students')} joined.")
            if asked:
                messages.warning(request, said_asked(len(asked)))
            return redirect("students", section.pk)
    return _class_list(request, section, paste, answers)


def said_asked(count: int) -> str:
    """What became of students whom another teacher has now."""
    return (
        f"{number_of(count, 'student is', 'students are')} in another teacher's class now. That "
        "teacher was asked and answers on the first page; until then nobody of them is in yours."
    )


@never_cache
@require_POST
def sign_in_codes(request, section_id, paper):
    """One-time codes for everybody without a password, on paper this once, to be cut apart."""
    section = access.get_taught_section(request.user, section_id)
    sheet = paper_named(paper)
    given = sections.give_codes(section, by=request.user)
    if not given:
        messages.success(request, "Every student here has a password already.")
        return redirect("students", section.pk)
    data = code_slips_pdf(
        given,
        sheet,
        address=request.build_absolute_uri(reverse("sign_in")),
        until=_last_day(),
        title=f"Sign-in codes, {section}",
    )
    return pdf(data, "sign-in-codes.pdf")


def _last_day() -> str:
    return date_format(timezone.localtime(timezone.now() + VALID), "j F Y")


def _class_list(request, section, paste, answers=None):
    enrolments = section.enrolments.select_related("student", "student__login")
    here = list(enrolments.filter(left_on=None).order_by("student__name"))
    return TemplateResponse(
        request,
        "studio/people/class_list.html",
        {
            "section": section,
            "paste": paste,
            "answers": answers,
            "here": here,
            "without_password": sum(
                1
                for each in here
                if each.student.login is None or not each.student.login.has_usable_password()
            ),
            "next_act": _next_act(section) if here else None,
            "papers": papers_for(section),
            "left": enrolments.exclude(left_on=None).order_by("student__name"),
            "asked": enrolment_requests.asked_by_section(section),
            "may_change": access.may_change(request.user, section),
        },
    )


def _next_act(section) -> tuple[str, str] | None:
    """What follows the class list: its words and address; None where every project has pieces."""
    bare = section.projects.filter(pieces=None).order_by("-number").first()
    if bare is not None:
        return f"begin the pieces of {bare.title}", reverse("pieces_new", args=[bare.pk])
    if not section.projects.exists():
        return "start a project", reverse("project_new", args=[section.pk])
    return None


def student(request, student_id):
    """A student's record: changed by a teacher, read by a head without the private note."""
    shown = get_object_or_404(access.students(request.user).select_related("login"), pk=student_id)
    may_change = access.taught_students(request.user).filter(pk=shown.pk).exists()
    if request.method != "POST":
        return _student_page(request, shown, _record_form(request, shown) if may_change else None)
    with transaction.atomic():
        access.get_taught_student(request.user, student_id)
        shown = Student.objects.select_for_update().get(pk=student_id)
        form = _record_form(request, shown, request.POST)
        if form.is_valid():
            form.keep(by=request.user)
            messages.success(request, f"What is on record for {shown.name} is changed.")
            return redirect("student", shown.pk)
    return _student_page(request, shown, form)


def _record_form(request, student, data=None):
    enrolments = access.own_enrolments(request.user).filter(student=student)
    return StudentForm(
        data, instance=student, enrolments=list(enrolments.select_related("section"))
    )


def _student_page(request, shown, form, login_form=None):
    taught = access.taught_sections(request.user)
    enrolments = shown.enrolments.filter(
        section__in=access.read_sections(request.user)
    ).select_related("section")
    taught_ids = set(taught.values_list("pk", flat=True))
    return TemplateResponse(
        request,
        "studio/people/student.html",
        {
            # The record as it stands, not as a refused form left it.
            "student": Student.objects.select_related("login").get(pk=shown.pk),
            "form": form,
            "login_form": login_form
            or LoginForm(initial={"username": propose_username(shown.name)}),
            "enrolments": [(each, each.section_id in taught_ids) for each in enrolments],
            "may_keep": access.kept_students(request.user).filter(pk=shown.pk).exists(),
            "pieces": give_outlines(
                access.pieces(request.user).filter(student=shown).for_list().with_face()
            ),
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
        back = sections.Joining(enrolment.student.name, student=enrolment.student)
        _joined, asked = sections.enrol(section, [back], by=request.user)
        if asked:
            messages.warning(request, said_asked(len(asked)))
        else:
            messages.success(request, f"{enrolment.student.name} is in {section.name} again.")
    else:
        enrolment_requests.leave(section, enrolment.student, by=request.user)
        messages.success(
            request,
            f"{enrolment.student.name} has left {section.name}. Pieces and marks are kept.",
        )
    return redirect("students", section.pk)


@require_POST
def place_answer(request, place_id):
    """Answer a colleague who asks for a student of one's own."""
    asked = get_object_or_404(enrolment_requests.to_answer(request.user), pk=place_id)
    word = request.POST.get("answer", "")
    if word not in enrolment_requests.ANSWERS:
        messages.error(request, "Choose one of the three answers.")
    elif not enrolment_requests.answer(asked, request.user, word):
        messages.warning(request, "Somebody answered this meanwhile.")
    elif word == enrolment_requests.REFUSE:
        messages.success(request, f"{asked.section} does not get {asked.student.name}.")
    else:
        messages.success(request, f"{asked.student.name} is in {asked.section} now.")
    return redirect("today")


@never_cache
@require_POST
def student_login(request, student_id):
    """Give a one-time code, and a login with the first; shown once. Or close the login."""
    shown = access.get_taught_student(request.user, student_id)
    record = _record_form(request, shown)
    if "close" in request.POST:
        try:
            sections.take_login(shown, by=request.user)
        except sections.RegisterError as error:
            messages.error(request, str(error))
        else:
            messages.success(request, f"{shown.name} cannot sign in any more.")
        return redirect("student", shown.pk)
    form = LoginForm(request.POST) if shown.login is None else None
    if form is not None and not form.is_valid():
        return _student_page(request, shown, record, form)
    try:
        username = form.cleaned_data["username"] if form else ""
        slip = sections.give_code(shown, username, by=request.user)
    except sections.RegisterError as error:
        if form is None:
            messages.error(request, str(error))
            return redirect("student", shown.pk)
        form.add_error("username", str(error))
        return _student_page(request, shown, record, form)
    return TemplateResponse(
        request,
        "studio/people/new_code.html",
        {
            "student": shown,
            "slip": slip,
            "until": _last_day(),
            "address": request.build_absolute_uri(reverse("sign_in")),
            "section": access.taught_sections(request.user).filter(students=shown).first(),
        },
    )
