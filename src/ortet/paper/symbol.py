"""The code on a sheet that a phone reads."""

__all__ = ["drawn", "symbol"]

QUIET = 4  # modules left white all round: ISO/IEC 18004
# ISO/IEC 18004, 7.8 tries eight masks and keeps the best; the trial takes three quarters of the time. Addresses of one
# book differ in eight characters only, and of 240 tried over four hosts this mask was the best one most often.
MASK = 5


def symbol(address: str, *, capitals: bool = True) -> str:
    """Return a QR code as an SVG.

    Parameters
    ----------
    address
        Where it leads.
    capitals
        Capitals alone need a third less room in a QR code. Scheme and host do not tell them from small letters (RFC 3986,
        6.2.2.1), and paths on labels do not either; not so what is asked for, nor a word drawn at random.
    """
    return drawn(address.upper() if capitals else address, "m")[0]


def drawn(words: str, level: str) -> tuple[str, int]:
    """Return a QR code as an SVG of one path, and how many modules its side has with its white rim.

    Parameters
    ----------
    level
        Error correction at least: l 7 %, m 15 %.
    """
    import segno

    code = segno.make(words, error=level, micro=False, mask=MASK)
    size = int(code.symbol_size(border=QUIET)[0])
    path = []
    for y, row in enumerate(code.matrix, QUIET):
        run = 0
        for x, dark in enumerate([*row, 0], QUIET):
            if dark:
                run += 1
            elif run:
                path.append(f"M{x - run} {y}h{run}v1h-{run}z")
                run = 0
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}"><path d="{"".join(path)}"/></svg>'
    return svg, size
