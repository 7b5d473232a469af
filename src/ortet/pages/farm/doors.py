"""The farm's two doors: https with the pages, and plain http with nothing but the certificate that the first is known by.

A machine's address changes when the router says so. The doors are looked after: they move along, and the certificate with
them, while the pages go on.
"""

import threading
from collections.abc import Callable
from datetime import UTC, datetime

from cheroot.wsgi import Server
from django.conf import settings

from ortet.pages.serve import MOST_BYTES, opened
from ortet.pages.wsgi import application
from ortet.work import Refused

from . import network, where
from .authority import Authority, authority, fingerprint, leaf
from .tls import Greeting, Tls
from .trust import trust_page

__all__ = ["Doors"]

EVERY = 30.0  # seconds between two looks at the addresses


def _now() -> datetime:
    return datetime.now(UTC)


class Doors:
    """Both doors, at one address of this machine at a time.

    Parameters
    ----------
    host : str
        The address to open at; empty for the likeliest private one of this machine, and for another when that goes.
    port, trust_port : int
        Of the pages and of the certificate; 0 picks a free one.
    tell : callable
        Says a line to the grower.
    """

    def __init__(self, host: str, port: int, trust_port: int, tell: Callable[[str], None] = print) -> None:
        self.asked, self.ports, self.tell = host, [port, trust_port], tell
        self.host = ""
        self.names: list[str] = []
        self.servers: list[Server] = []
        self.threads: list[threading.Thread] = []
        self.ended = threading.Event()

    def open(self) -> where.Where:
        """Open both doors, and look after them from now on; say where they are.

        Raises
        ------
        Refused
            If this machine has no private address, or the address or a port cannot be used.
        """
        if self.asked and not network.is_private(self.asked):
            raise Refused(
                f"{self.asked} is no private address, and Ortet's own certificate is for those alone: give one that phones in "
                "your own network reach, such as 192.168.1.20, or put a proxy with TLS before `ortet serve`. Nothing was served."
            )
        if not self.asked and not network.addresses():
            raise Refused(
                "This machine is on no private network, or none that could be found: join the one that the phones are on, or "
                "say its address with --host. Nothing was served."
            )
        opened_at = self._open(self.asked or network.addresses()[0])
        threading.Thread(target=self._look_after, daemon=True).start()
        return opened_at

    def _names(self) -> list[str]:
        names = [self.host, *network.addresses(), network.local_name()]
        return list(dict.fromkeys(filter(None, names)))

    def _open(self, host: str) -> where.Where:
        self.host = host
        self.names = self._names()
        folder = settings.FOLDER / "farm"
        self.signer: Authority = authority(folder, _now())
        self.tls = Tls(leaf(folder, self.signer, self.names, _now()))
        pages = Server((host, self.ports[0]), application, numthreads=8, server_name="ortet")
        pages.ssl_adapter, pages.ConnectionClass = self.tls, Greeting
        pages.max_request_body_size = MOST_BYTES
        opened(pages)
        at = network.url("https", host, pages.bind_addr[1])
        mark = fingerprint(self.signer.certificate)
        plain = Server(
            (host, self.ports[1]), trust_page(_der(self.signer), mark, at), numthreads=2, server_name="ortet"
        )
        plain.max_request_body_size = 1
        try:
            opened(plain)
        except Refused:
            pages.stop()
            raise
        self.servers = [pages, plain]
        self.ports = [server.bind_addr[1] for server in self.servers]  # kept when the address changes
        self._let_these_hosts_be_asked_for()
        name = network.local_name()
        now_at = where.Where(
            pages=at,
            trust=network.url("http", host, self.ports[1]),
            named=network.url("https", name, self.ports[0]) if name else "",
            fingerprint=mark,
        )
        self.threads = [threading.Thread(target=server.serve, daemon=True) for server in self.servers]
        for thread in self.threads:
            thread.start()
        where.note(now_at)
        return now_at

    def _let_these_hosts_be_asked_for(self) -> None:
        # Not known when the settings are read, and not for long: Django looks into the list at each request.
        shown = (f"[{name}]" if ":" in name else name for name in self.names)
        settings.ALLOWED_HOSTS += [name for name in shown if name not in settings.ALLOWED_HOSTS]

    def look(self) -> None:
        """Follow this machine to its new address, and renew the certificate where it has to be."""
        there = network.addresses()
        if not self.asked and self.host not in there:
            self._shut()
            if there:
                now_at = self._open(there[0])
                self.tell(f"This machine's address changed. Phones now find the pages at {now_at.pages}/")
            else:
                self.host = ""  # off the network: look again
            return
        if self.host:
            self.names = self._names()
            self._let_these_hosts_be_asked_for()
            self.tls.renew(leaf(settings.FOLDER / "farm", self.signer, self.names, _now()))

    def _look_after(self) -> None:
        while not self.ended.wait(EVERY):
            try:
                self.look()
            except (Refused, OSError) as error:
                self.tell(str(error))

    def _shut(self) -> None:
        if self.servers:  # or the note is of another that serves
            where.forget()
        for server in self.servers:
            server.stop()
        for thread in self.threads:
            thread.join(timeout=10)
        self.servers, self.threads = [], []

    def close(self) -> None:
        """Shut both doors."""
        self.ended.set()
        self._shut()


def _der(signer: Authority) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return signer.certificate.public_bytes(Encoding.DER)
