"""Headers that every response carries, and pages sent compressed."""

from django.conf import settings
from django.http import HttpResponse
from django.middleware.gzip import GZipMiddleware
from django.shortcuts import resolve_url

from studio.web import shared_computer

COMPRESSIBLE = ("text/", "application/json", "image/svg+xml")
"""Pictures and PDF are compressed already."""

POLICY = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    ]
)


def content_security_policy(get_response):
    """Forbid inline script and style and every other host, from the first page."""

    def middleware(request):
        response = get_response(request)
        response.setdefault("Content-Security-Policy", POLICY)
        response.setdefault("Permissions-Policy", "camera=(self), geolocation=(), microphone=()")
        # A page about a student is nobody else's to keep: neither a shared cache nor, after signing
        # out, the browser's own memory of pages for its Back button.
        if getattr(request, "user", None) is not None and request.user.is_authenticated:
            response.setdefault("Cache-Control", "private, no-store")
            if shared_computer.is_shared(request):
                response["Cache-Control"] = "private, no-store"
        return response

    return middleware


def compress_pages(get_response):
    """Send text compressed to who asks for it. The tokens in a page are masked anew each time, and
    random padding hides its length (both Django's): what a page keeps secret cannot be guessed
    from its size."""
    compressing = GZipMiddleware(get_response)

    def middleware(request):
        response = get_response(request)
        if response.get("Content-Type", "").startswith(COMPRESSIBLE):
            return compressing.process_response(request, response)
        return response

    return middleware


def no_sign_in_inside_a_page(get_response):
    """Answer a part of a page, asked for after the session ended, with "sign in again" (401): the
    script would follow a redirect and put the whole sign-in page where the part belongs."""
    sign_in = resolve_url(settings.LOGIN_URL)

    def middleware(request):
        response = get_response(request)
        if request.headers.get("HX-Request") and response.get("Location", "").startswith(sign_in):
            return HttpResponse("Sign in again.", status=401, content_type="text/plain")
        return response

    return middleware
