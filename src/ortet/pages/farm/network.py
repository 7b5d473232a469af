"""Under which addresses and which name this machine is found on the farm's network."""

import re
import socket
from ipaddress import ip_address, ip_network

__all__ = ["LOOPBACK", "PRIVATE", "addresses", "is_private", "local_name", "url"]

# What never leads out of a site: RFC 1918, RFC 3927, RFC 4193. [published]
PRIVATE = tuple(
    map(ip_network, ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "fc00::/7"))
)
LOOPBACK = tuple(map(ip_network, ("127.0.0.0/8", "::1/128")))  # to try it on one machine
ANYWHERE = ("198.51.100.1", 9)  # RFC 5737: nobody's; nothing is sent there


def is_private(address: str) -> bool:
    """Whether phones can be served at this address: a private one, or this machine's own loopback."""
    try:
        ip = ip_address(address)
    except ValueError:
        return False
    return any(ip in network for network in (*PRIVATE, *LOOPBACK))


def _towards_the_way_out() -> str:
    """Return the address of the interface that leads out of the house: where phones are too, as a rule."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sock:
        try:
            sock.connect(ANYWHERE)
        except OSError:
            return ""
        return sock.getsockname()[0]


def addresses() -> list[str]:
    """Return this machine's private addresses, the one where phones most likely are first."""
    from ifaddr import get_adapters

    found = [str(ip.ip) if ip.is_IPv4 else str(ip.ip[0]) for adapter in get_adapters() for ip in adapter.ips]
    private = [text for text in dict.fromkeys(found) if any(ip_address(text) in net for net in PRIVATE)]
    first = _towards_the_way_out()

    def likely(text: str) -> tuple[bool, bool, bool]:
        ip = ip_address(text)
        return text != first, ip.version != 4, ip.is_link_local

    return sorted(private, key=likely)


def local_name() -> str | None:
    """Return the name that machines on the same network may find this one by (RFC 6762), if it has one that can be."""
    name = socket.gethostname().split(".")[0].lower()
    return f"{name}.local" if re.fullmatch(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?", name) else None


def url(scheme: str, host: str, port: int) -> str:
    """Write an address as a browser takes it."""
    return f"{scheme}://[{host}]:{port}" if ":" in host else f"{scheme}://{host}:{port}"
