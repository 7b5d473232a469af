"""TLS for cheroot in which nobody waits for a phone that is slow to greet, or never does.

Cheroot shakes hands in the one thread that accepts and looks after all connections: a phone that connects and falls silent
holds up everybody for ten seconds. Here a connection takes each step of the greeting when the phone has spoken, and waits
among the idle ones in between.
"""

import ssl
from pathlib import Path
from typing import Any

from cheroot.makefile import StreamReader, StreamWriter
from cheroot.server import HTTPConnection
from cheroot.ssl import Adapter

__all__ = ["Greeting", "Tls"]


class Tls(Adapter):
    """The leaf's key and certificate, which may be exchanged for new ones while connections last."""

    def __init__(self, leaf: Path) -> None:
        super().__init__(str(leaf), str(leaf))
        self.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.context.minimum_version = ssl.TLSVersion.TLSv1_2
        self.context.set_alpn_protocols(["http/1.1"])
        self.renew(leaf)

    def renew(self, leaf: Path) -> None:
        """Greet with this certificate from now on."""
        self.context.load_cert_chain(leaf)

    def bind(self, sock: Any) -> Any:
        """Return the listening socket as it is."""
        return sock

    def wrap(self, sock: Any) -> tuple[ssl.SSLSocket, dict[str, str]]:
        """Return the connection, which has not greeted yet."""
        return (
            self.context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False),
            self.get_environ(),
        )

    def get_environ(self) -> dict[str, str]:
        """Say to the pages that this is https."""
        return {"wsgi.url_scheme": "https", "HTTPS": "on"}

    def makefile(self, sock: Any, mode: str = "r", bufsize: int = -1) -> Any:
        """Return the connection as a file to read or to write."""
        return (StreamReader if "r" in mode else StreamWriter)(sock, mode, bufsize)


class Greeting(HTTPConnection):
    """A connection that shakes hands step by step."""

    has_greeted = False

    def communicate(self) -> bool:
        """Take the next step, or answer; return whether the connection goes on."""
        if self.has_greeted:
            return super().communicate()
        try:
            self.socket.settimeout(0)
            self.socket.do_handshake()
        except ssl.SSLWantReadError:
            return True  # it is the phone's turn
        except OSError:  # a phone that does not trust us yet, or left: nothing that the grower could mend
            return False
        self.socket.settimeout(self.server.timeout)
        self.has_greeted = True
        return super().communicate() if self.socket.pending() else True
