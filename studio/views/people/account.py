"""In, out and the password."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from studio.forms.people.account import ChoosePasswordForm, PasswordForm, SignInForm
from studio.people import sign_in_codes
from studio.web import shared_computer

CODE_IN_SESSION, NEXT_IN_SESSION = "sign_in_code", "sign_in_next"
SHARED_IN_SESSION = "sign_in_shared"


@login_not_required
@never_cache
@sensitive_post_parameters("password")
def sign_in(request):
    """Ask for name and password, then go where the person was heading."""
    target = _safe_target(request)
    if request.user.is_authenticated:
        return redirect(target)
    form = SignInForm(request.POST or None, request=request)
    if request.method == "POST" and form.is_valid():
        if form.code:
            # Nobody is signed in by a code alone: first the password that takes its place.
            request.session.cycle_key()
            request.session[CODE_IN_SESSION] = form.code.pk
            request.session[NEXT_IN_SESSION] = target
            request.session[SHARED_IN_SESSION] = form.cleaned_data["shared"]
            return redirect("password_choose")
        login(request, form.user)
        if form.cleaned_data["shared"]:
            shared_computer.begin(request)
        return redirect(target)
    return TemplateResponse(
        request,
        "studio/people/sign_in.html",
        {"form": form, "next": request.POST.get("next", request.GET.get("next", ""))},
    )


@login_not_required
@never_cache
@sensitive_post_parameters("new_password1", "new_password2")
def password_choose(request):
    """Choose a password of one's own after signing in with a code, then go on."""
    code = sign_in_codes.still_open(request.session.get(CODE_IN_SESSION))
    if code is None:
        messages.warning(request, "Sign in with your name and the code from your slip.")
        return redirect("sign_in")
    form = ChoosePasswordForm(code.user, request.POST or None)
    if request.method == "POST" and form.is_valid():
        if not sign_in_codes.use(code, form.save):
            messages.warning(request, "This code was used meanwhile. Ask your teacher for another.")
            return redirect("sign_in")
        target = request.session.pop(NEXT_IN_SESSION, "today")
        del request.session[CODE_IN_SESSION]
        is_shared = request.session.pop(SHARED_IN_SESSION, False)
        login(request, code.user, backend=settings.AUTHENTICATION_BACKENDS[0])
        if is_shared:
            shared_computer.begin(request)
        messages.success(request, "Welcome. From now on you sign in with this password.")
        return redirect(target)
    return TemplateResponse(
        request, "studio/people/password_choose.html", {"form": form, "who": code.user}
    )


def _safe_target(request) -> str:
    """Where to go next: only ever a page of this site."""
    target = request.POST.get("next", request.GET.get("next", ""))
    mine = url_has_allowed_host_and_scheme(
        target, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    # An address of this site begins with a stroke; anything else would be taken for a view's name.
    return target if mine and target.startswith("/") else "today"


@login_not_required
@require_POST
def sign_out(request):
    """End the session."""
    logout(request)
    return redirect("sign_in")


@never_cache
@sensitive_post_parameters("old_password", "new_password1", "new_password2")
def password(request):
    """Change one's own password and stay signed in."""
    form = PasswordForm(request.user, request.POST or None)
    if request.method == "POST" and form.is_valid():
        form.save()
        update_session_auth_hash(request, form.user)
        messages.success(request, "Your new password counts from now on.")
        return redirect("today")
    return TemplateResponse(request, "studio/people/password.html", {"form": form})
