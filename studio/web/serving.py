"""Serve the site from this computer, for a classroom or a demo."""

from django.core.wsgi import get_wsgi_application
from waitress import create_server

# Pages wait on the database more than on the processor; eight at once is a class with phones.
THREADS = 8


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
    server = create_server(get_wsgi_application(), host=host, port=port, threads=THREADS)
    shown = f"[{host}]" if ":" in host else host
    announce(f"http://{shown}:{port}/")
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
