"""A certificate authority of this nursery's own, which vouches for this machine on the farm's network and for nothing else.

A phone is led to trust it once. Should its key ever be stolen, it could still vouch only for private addresses and for
names under .local: phones refuse the rest, as the certificate itself says so (RFC 5280, 4.2.1.10).
"""

import os
import socket
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING

from ortet.work import Refused

from .network import LOOPBACK, PRIVATE, is_private

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.x509 import Certificate

__all__ = ["Authority", "authority", "fingerprint", "leaf"]

AUTHORITY_LASTS = timedelta(days=3650)
# Apple refuses more than 825 days of an authority that was added by hand, others more than 398. [published]
LEAF_LASTS = timedelta(days=397)
RENEWED = timedelta(days=30)  # before its end
CLOCKS_DIFFER = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Authority:
    """The certificate that phones trust, and the key it signs with."""

    certificate: "Certificate"
    key: "EllipticCurvePrivateKey"


def fingerprint(certificate: "Certificate") -> str:
    """Write the SHA-256 of a certificate in pairs, as phones show it."""
    from cryptography.hazmat.primitives.hashes import SHA256

    return certificate.fingerprint(SHA256()).hex(" ").upper()


def _write(path: Path, content: bytes) -> Path:
    """Write beside, readable by the owner only; return where, to be put into place."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    half = path.with_name(f"{path.name}.{os.getpid()}")
    with suppress(FileNotFoundError):
        half.unlink()
    with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(content)
    return half


def _private_pem(key: "EllipticCurvePrivateKey") -> bytes:
    from cryptography.hazmat.primitives import serialization as write

    return key.private_bytes(write.Encoding.PEM, write.PrivateFormat.PKCS8, write.NoEncryption())


def _pem(certificate: "Certificate") -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return certificate.public_bytes(Encoding.PEM)


def authority(folder: Path, now: datetime) -> Authority:
    """Return this nursery's authority, made on first use.

    Raises
    ------
    Refused
        If its file cannot be read or its time is over.
    """
    from cryptography.hazmat.primitives.serialization import load_pem_private_key
    from cryptography.x509 import load_pem_x509_certificate

    path = folder / "authority.pem"
    if not path.exists():
        half = _write(path, _make_authority(now))
        with suppress(FileExistsError):  # of two first starts at once, both use the same
            os.link(half, path)
        half.unlink()
    try:
        pem = path.read_bytes()
        made = Authority(load_pem_x509_certificate(pem), load_pem_private_key(pem, None))
    except (OSError, ValueError, TypeError):
        raise Refused(
            f"The authority in {path} cannot be read. Bring back a copy; or move it away, and a new one is made, which "
            "every phone must be led to trust anew. Nothing was served."
        ) from None
    if made.certificate.not_valid_after_utc - now < RENEWED:
        raise Refused(
            f"The authority in {path} ends on {made.certificate.not_valid_after_utc:%Y-%m-%d}. Move the file away: a new one "
            "is made, which every phone must be led to trust anew. Nothing was served."
        )
    return made


def _make_authority(now: datetime) -> bytes:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.x509.oid import NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    called = f"Ortet at {socket.gethostname()[:30]}, made {now:%Y-%m-%d}"
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, called)])
    ours = [x509.DNSName("local"), *(x509.IPAddress(network) for network in (*PRIVATE, *LOOPBACK))]
    signs = x509.KeyUsage(False, False, False, False, False, True, True, False, False)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCKS_DIFFER)
        .not_valid_after(now + AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(signs, critical=True)
        .add_extension(x509.NameConstraints(ours, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, SHA256())
    )
    return _private_pem(key) + _pem(certificate)


def leaf(folder: Path, by: Authority, names: Sequence[str], now: datetime) -> Path:
    """Return the file with this machine's key and certificate, renewed where it names others or nears its end.

    Parameters
    ----------
    folder : Path
        Where it lies.
    by : Authority
        Who signs.
    names : sequence of str
        The addresses and names that this machine is reached by.
    now : datetime
        The moment.
    """
    path = folder / "leaf.pem"
    if not _is_good(path, by, names, now):
        os.replace(_write(path, _make_leaf(by, names, now)), path)
    return path


def _is_good(path: Path, by: Authority, names: Sequence[str], now: datetime) -> bool:
    from cryptography import x509
    from cryptography.exceptions import InvalidSignature

    try:
        made = x509.load_pem_x509_certificate(path.read_bytes())
        made.verify_directly_issued_by(by.certificate)
        said = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ValueError, TypeError, InvalidSignature, x509.ExtensionNotFound):
        return False
    lasts = made.not_valid_before_utc <= now and now + RENEWED < made.not_valid_after_utc
    return lasts and {str(name.value) for name in said} == set(names)


def _make_leaf(by: Authority, names: Sequence[str], now: datetime) -> bytes:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    said = [
        x509.IPAddress(ip_address(name)) if is_private(name) else x509.DNSName(name)
        for name in dict.fromkeys(names)
    ]
    signer = x509.SubjectKeyIdentifier.from_public_key(by.key.public_key())
    end = min(now + LEAF_LASTS, by.certificate.not_valid_after_utc)
    uses = x509.KeyUsage(True, False, False, False, False, False, False, False, False)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Ortet on the farm's network")]))
        .issuer_name(by.certificate.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCKS_DIFFER)
        .not_valid_after(end)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(uses, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(said), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(signer), critical=False)
        .sign(by.key, SHA256())
    )
    return _private_pem(key) + _pem(certificate) + _pem(by.certificate)
