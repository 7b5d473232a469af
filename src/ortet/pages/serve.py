"""One-command server: cheroot, which runs the same on Linux, macOS and Windows."""

import sys
import threading
from importlib import import_module

from django.conf import settings

from ortet.work import Refused

__all__ = ["serve"]


MOST_BYTES = 100_000_000  # of one request: a year of readings a second apart is less


def _make_ready() -> None:
    for module in ("ortet.science.bag_kernel", "ortet.science.chill_kernel", "ortet.decisions.forecast"):
        import_module(module)


def serve(host: str, port: int) -> None:
    """Serve the pages until stopped; say where.

    Raises
    ------
    Refused
        If the port is taken or the address is not this machine's.
    """
    from cheroot.wsgi import Server

    from .wsgi import application

    if host not in ("127.0.0.1", "localhost", "::1") and not settings.HOSTS:
        raise Refused(
            f"At {host} nobody could come in: say in ORTET_HOSTS under which names these pages are reached, such as "
            "ORTET_HOSTS=192.0.2.7, and set a password. Nothing was served."
        )
    server = Server((host, port), application, numthreads=8, server_name="ortet")
    server.max_request_body_size = MOST_BYTES
    try:
        server.prepare()
    except OSError:
        raise Refused(
            f"Port {port} at {host} cannot be used: another program may hold it. Try another: --port 0 picks a free one."
        ) from None
    # what the first look at Today needs is brought in while the grower still reaches for the browser
    threading.Thread(target=_make_ready, daemon=True).start()
    shown = f"[{host}]" if ":" in host else host
    print(f"The pages are at http://{shown}:{server.bind_addr[1]}/  Stop with Ctrl+C.", flush=True)
    try:
        server.serve()
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
    finally:
        server.stop()
