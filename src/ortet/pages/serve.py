"""One-command server: cheroot, which runs the same on Linux, macOS and Windows."""

import sys

from ortet.work import Refused

__all__ = ["serve"]


def serve(host: str, port: int) -> None:
    """Serve the pages until stopped; say where.

    Raises
    ------
    Refused
        If the port is taken or the address is not this machine's.
    """
    from cheroot.wsgi import Server

    from .wsgi import application

    server = Server((host, port), application, numthreads=8, server_name="ortet")
    try:
        server.prepare()
    except OSError as error:
        raise Refused(
            f"Port {port} at {host} cannot be used ({error}). Try another: --port 0 picks a free one."
        ) from None
    shown = f"[{host}]" if ":" in host else host
    print(f"The pages are at http://{shown}:{server.bind_addr[1]}/  Stop with Ctrl+C.", flush=True)
    try:
        server.serve()
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
    finally:
        server.stop()
