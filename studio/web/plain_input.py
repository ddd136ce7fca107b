"""What no hand writes is refused before any page meets it, and what a reply may carry.

Databases take no NUL, and Python turns no more than 4300 digits into a number; every page would
have to think of both.
"""

import re

from django.http import HttpResponse
from django.template.loader import render_to_string

MOST_DIGITS = 400
"""In one row without anything between: more than any number that is measured, counted or kept."""
_TOO_MANY_DIGITS = re.compile(rf"\d{{{MOST_DIGITS + 1}}}")
SAFE = ("GET", "HEAD", "OPTIONS", "TRACE")
MOST_UNSIGNED_BYTES = 64 * 1024
"""Of a form from somebody who is not signed in: a name and a password."""


def problem_of(text: str) -> str:
    """Why a text cannot be taken; "" where it can."""
    if "\0" in text:
        return (
            "What was sent holds a NUL, a sign that no keyboard writes and no record keeps. "
            "Go back, type the text afresh instead of pasting it, and send it again."
        )
    if _TOO_MANY_DIGITS.search(text):
        return (
            f"What was sent holds more than {MOST_DIGITS} digits in one row, which is no number "
            "of anything here. Go back, put it right, and send it again."
        )
    return ""


def refuse_what_no_hand_writes(get_response):
    """Answer 400 with a sentence; what was entered is still there behind the Back button."""

    def middleware(request):
        is_stranger = request.method not in SAFE and not request.user.is_authenticated
        if is_stranger and _length(request) > MOST_UNSIGNED_BYTES:
            # Before the body is read: a stranger's upload costs nothing.
            return _refused(request, "Sign in first; then send it again.", 403)
        return get_response(request)

    def process_view(request, view, args, kwargs):
        for sent in (request.GET, request.POST if request.method == "POST" else {}):
            for name, texts in sent.lists() if sent else ():
                for text in (name, *texts):
                    if said := problem_of(text):
                        return _refused(request, said, 400)
        return None

    middleware.process_view = process_view
    return middleware


def _length(request) -> int:
    text = request.META.get("CONTENT_LENGTH") or "0"
    # Without a length the server reads in chunks whose end nobody knows.
    chunked = "chunked" in request.META.get("HTTP_TRANSFER_ENCODING", "").lower()
    return int(text) if text.isdecimal() and len(text) < 20 and not chunked else 2**63


def _refused(request, sentence: str, status: int) -> HttpResponse:
    wants_page = request.get_preferred_type(["text/html", "application/json"]) == "text/html"
    if not wants_page or request.headers.get("HX-Request"):
        return HttpResponse(sentence, status=status, content_type="text/plain; charset=utf-8")
    page = render_to_string("400.html", {"sentence": sentence}, request)
    return HttpResponse(page, status=status)


def no_body_for_head(get_response):
    """Answer HEAD as GET without its body (RFC 9110, section 9.3.2)."""

    def middleware(request):
        response = get_response(request)
        if request.method != "HEAD":
            return response
        if response.streaming:
            # Closed as if it had been sent: a file stays open otherwise.
            response.close()
            response.streaming_content = ()
        else:
            response.setdefault("Content-Length", str(len(response.content)))
            response.content = b""
        return response

    return middleware
