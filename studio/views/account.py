"""In, out and the password."""

from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from studio.forms.account import PasswordForm, SignInForm


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
        login(request, form.user)
        return redirect(target)
    return TemplateResponse(
        request,
        "studio/account/sign_in.html",
        {"form": form, "next": request.POST.get("next", request.GET.get("next", ""))},
    )


def _safe_target(request) -> str:
    """Where to go next: only ever a page of this site."""
    target = request.POST.get("next", request.GET.get("next", ""))
    mine = url_has_allowed_host_and_scheme(
        target, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return target if mine else "today"


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
    return TemplateResponse(request, "studio/account/password.html", {"form": form})
