"""A student is removed with everything, after a look at what goes."""

from django.contrib import messages
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_http_methods

from studio import access
from studio.forms.people.removal import RemovalForm
from studio.people import removal
from studio.people.sections import RegisterError


@require_http_methods(["GET", "POST"])
def student_remove(request, student_id):
    """Show what goes; with the name written out, let it go."""
    student = access.get_kept_student(request.user, student_id)
    refused = removal.refusal(request.user, student)
    form = RemovalForm(request.POST or None, student=student)
    status = 200
    if request.method == "POST":
        status = 422
        if not refused and form.is_valid():
            try:
                removal.remove(request.user, student)
            except RegisterError as error:
                refused = str(error)
            else:
                messages.success(request, f"{student.name} is removed with everything.")
                return redirect("today")
    context = {"student": student, "refused": refused, "form": form}
    if not refused:
        context["goes"] = removal.what_goes(student)
    return TemplateResponse(request, "studio/people/remove.html", context, status=status)
