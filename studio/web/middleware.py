"""Headers that every response carries."""

from studio.web import shared_computer

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
