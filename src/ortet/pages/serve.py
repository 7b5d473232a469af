"""One-command server: cheroot, which runs the same on Linux, macOS and Windows."""

import sys
import threading
from importlib import import_module
from typing import TYPE_CHECKING

from django.conf import settings

from ortet.work import Refused

if TYPE_CHECKING:
    from cheroot.wsgi import Server

__all__ = ["MOST_BYTES", "opened", "serve", "serve_farm"]


MOST_BYTES = 100_000_000  # of one request: a year of readings a second apart is less


def _make_ready() -> None:
    for module in ("ortet.science.bag_kernel", "ortet.science.chill_kernel", "ortet.decisions.forecast"):
        import_module(module)


def opened(server: "Server") -> "Server":
    """Return the server with its port taken.

    Raises
    ------
    Refused
        If the port is taken or the address is not this machine's.
    """
    host, port = server.bind_addr
    try:
        server.prepare()
    except OSError:
        raise Refused(
            f"Port {port} at {host} cannot be used: another program may hold it. Try another: 0 picks a free one. "
            "Nothing was served."
        ) from None
    return server


def _desk(host: str, port: int) -> "Server":
    from cheroot.wsgi import Server

    from .wsgi import application

    server = Server((host, port), application, numthreads=8, server_name="ortet")
    server.max_request_body_size = MOST_BYTES
    return opened(server)


def _run(server: "Server") -> None:
    """Serve until stopped."""
    # what the first look at Today needs is brought in while the grower still reaches for the browser
    threading.Thread(target=_make_ready, daemon=True).start()
    host, port = server.bind_addr[:2]
    shown = f"[{host}]" if ":" in host else host
    print(f"The pages are at http://{shown}:{port}/  Stop with Ctrl+C.", flush=True)
    try:
        server.serve()
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
    finally:
        server.stop()


def serve(host: str, port: int) -> None:
    """Serve the pages until stopped; say where.

    Raises
    ------
    Refused
        If the port is taken or the address is not this machine's.
    """
    if host not in ("127.0.0.1", "localhost", "::1") and not settings.HOSTS:
        raise Refused(
            f"At {host} nobody could come in: say in ORTET_HOSTS under which names these pages are reached, such as "
            "ORTET_HOSTS=192.0.2.7, and set a password. For phones in your own network there is `ortet serve --farm`. "
            "Nothing was served."
        )
    _run(_desk(host, port))


def serve_farm(host: str, port: int, farm_port: int, trust_port: int) -> None:
    """Serve the desk by plain http on loopback and the farm's network by https, until stopped; say where.

    Parameters
    ----------
    host : str
        This machine's address on the farm's network; empty for the likeliest.
    port, farm_port, trust_port : int
        For the desk, for phones, and for the certificate that phones are led to trust; 0 picks a free one.

    Raises
    ------
    Refused
        If there is no private address, a port is taken or the certificate cannot be read.
    """
    from .farm.doors import Doors

    desk = _desk("127.0.0.1", port)
    doors = Doors(host, farm_port, trust_port, tell=lambda line: print(line, flush=True))
    try:
        where = doors.open()
        print(f"Phones find them at {where.pages}/ once they are paired.", flush=True)
        print(
            f"To pair one, open http://127.0.0.1:{desk.bind_addr[1]}/phones here, or `ortet pair NAME`.",
            flush=True,
        )
        _run(desk)
    finally:
        doors.close()
        desk.stop()
