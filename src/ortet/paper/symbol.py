"""The code on a sheet that a phone reads."""

import io

__all__ = ["symbol"]

QUIET = 4  # modules left white all round: ISO/IEC 18004


def symbol(address: str, *, capitals: bool = True) -> str:
    """Return a QR code as an SVG.

    Parameters
    ----------
    address
        Where it leads.
    capitals
        Capitals alone make a smaller code, and most of our addresses may be written in them. Not one that ends with a
        word drawn at random.
    """
    import segno

    written = io.BytesIO()
    words = address.upper() if capitals else address
    segno.make(words, error="m", micro=False).save(written, kind="svg", border=QUIET, xmldecl=False)
    return written.getvalue().decode()
