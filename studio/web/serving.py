"""Serve the site from this computer, for a classroom or a demo."""

from django.conf import settings
from django.core.wsgi import get_wsgi_application
from waitress import create_server

from studio.web.collected import collect

# Pages wait on the database more than on the processor; eight at once is a class with phones.
THREADS = 8
CONNECTIONS = 600
"""A class of browsers opens six each (from memory); a hundred were filled by half a class."""
MOST_BODY_BYTES = 1024**3
"""Two dozen photographs at once, the most that a form takes, of the largest size."""


def proxy() -> dict:
    """What the server believes of a proxy: nothing, unless the site is told to stand behind one."""
    if not settings.HTTPS:
        return {}
    return {
        "trusted_proxy": settings.TRUSTED_PROXY,
        "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"},
        "clear_untrusted_proxy_headers": True,
    }


def serve(host: str, port: int, announce) -> None:
    """Answer requests until stopped with Ctrl-C.

    Parameters
    ----------
    announce
        Called with the address once the port is open.

    Raises
    ------
    OSError
        The port is taken or the address is not this computer's.
    """
    collect()
    server = create_server(
        get_wsgi_application(),
        host=host,
        port=port,
        threads=THREADS,
        connection_limit=CONNECTIONS,
        max_request_body_size=MOST_BODY_BYTES,
        **proxy(),
    )
    shown = f"[{host}]" if ":" in host else host
    announce(f"http://{shown}:{port}/")
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
