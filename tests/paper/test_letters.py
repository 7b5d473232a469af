"""Names in any letters: those that some font has are printed, the others are refused, and nothing leaves its label."""

import subprocess
import sys

import numpy as np
import pypdfium2 as pdfium
import pytest
import zxingcpp

from ortet.paper.labels import Label, bag_labels, wrap_labels
from ortet.wood import code

MAKERS = {"bag": bag_labels, "wrap": wrap_labels}
HEIGHT = {"bag": 42, "wrap": 16}  # [mm]
both = pytest.mark.parametrize("kind", MAKERS)


def label(number, variety="‘Larkfield Amber’"):
    made = code.make(number)
    return Label(
        variety,
        "redcurrant",
        code.show(made),
        "24 Nov 2026",
        "A",
        60,
        f"http://localhost:8137/l/{made}",
        "K7-3",
    )


def drawn(pdf, dpi):
    (page,) = pdfium.PdfDocument(pdf)
    return np.asarray(page.render(scale=dpi / 72, grayscale=True).to_pil())


@both
def test_a_letter_that_no_font_has_is_refused_and_shown(kind):
    """U+10FFFD is for private use: no font on any machine is likely to draw it."""
    with pytest.raises(ValueError, match=r"^No font on this machine can write '\\U0010fffd'") as caught:
        MAKERS[kind]([label(1), label(2, "‘Ember \U0010fffd’")], paper="a4")
    assert str(caught.value).endswith("Nothing was printed.")


@both
@pytest.mark.parametrize("name", ["‘Ржавый Фонарь’", "‘Μαύρη Λάμπα’", "‘Œuf × Ĳzer’", "‘ქარი’"])
def test_letters_that_typst_carries_are_printed(kind, name):
    """Russian, Greek, ligatures, Georgian. What a font lacks is refused, so what comes back was drawn."""
    pdf = MAKERS[kind]([label(1, name)], paper="a4")
    (page,) = pdfium.PdfDocument(pdf)
    assert "".join(name.split()) in "".join(page.get_textpage().get_text_range().split())


@both
def test_the_file_is_an_archive_file(kind):
    """ISO 19005-2 (PDF/A-2b): names itself in its metadata and carries its fonts; the rule under which Typst refuses
    letters without a drawing."""
    pdf = MAKERS[kind]([label(1)], paper="a4")
    assert b"<pdfaid:part>2</pdfaid:part>" in pdf and b"<pdfaid:conformance>B</pdfaid:conformance>" in pdf


@both
@pytest.mark.parametrize(
    "name", ["‘" + "Long name " * 9 + "’", "‘" + "W" * 80 + "’", "‘Ş́̈ṵ̂Ậ́’", "‘a" + "́" * 40 + "’"]
)
def test_a_name_stays_on_its_label(kind, name):
    """The same sheet but for one name differs only in that label's place, and its code still reads at 203 dpi."""
    labels = [label(number) for number in range(6)]
    plain = drawn(MAKERS[kind](labels, paper="a4"), 203)
    labels[2] = label(2, name)
    sheet = drawn(MAKERS[kind](labels, paper="a4"), 203)
    rows, columns = np.nonzero(plain != sheet)
    assert 0 < np.ptp(rows) <= HEIGHT[kind] / 25.4 * 203
    assert np.ptp(columns) <= 92 / 25.4 * 203
    read = {found.text for found in zxingcpp.read_barcodes(sheet)}
    assert read == {label.address.upper() for label in labels}


@both
def test_the_same_labels_give_the_same_bytes_in_another_process(kind):
    """Python strews its sets anew in each process; the file must not show it."""
    script = f"""
import hashlib
from ortet.paper.labels import Label, {kind}_labels
labels = [Label("‘Ember’", "grape", "7K3Q-9M2D", "24 Nov 2026", "A", 5, f"http://localhost:8137/l/{{n}}") for n in range(9)]
print(hashlib.sha256({kind}_labels(labels, paper="a4")).hexdigest())
"""
    ran = {
        subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout
        for _ in range(2)
    }
    assert len(ran) == 1


def test_import_leaves_typst_and_segno_alone():
    script = (
        "import sys, ortet.paper.labels; print([m for m in ('typst', 'segno', 'numpy') if m in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
