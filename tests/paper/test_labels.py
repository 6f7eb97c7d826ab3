"""Labels that scan: rendered as a 203 dpi printer would, turned, blurred, small as in a phone's picture.

The codes are read by zxing-cpp, an independent reader; sizes follow ISO/IEC 18004 (versions, quiet zone of 4).
"""

import io
from random import Random

import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageFilter
from pypdf import PdfReader

from buildlog.core.errors import Refused
from buildlog.core.work.labels import SegmentLabel
from buildlog.paper.labels import LabelSheet, sheets, strip
from buildlog.paper.page import A4, LETTER, SIZES, Size
from buildlog.paper.symbol import QUIET, Symbol

BASE = "http://192.168.1.50:8000"
KEYS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
DPI = 203
MM = 25.4


def labels(number: int) -> list[SegmentLabel]:
    chance = Random(7)
    return [
        SegmentLabel(f"R{i // 4 + 1}-{i % 4 + 1}", "".join(chance.choices(KEYS, k=5)), 40, i > 30, (i % 8 + 1,))
        for i in range(number)
    ]


def pages(pdf: bytes, dpi: int = DPI) -> list[Image.Image]:
    return [page.render(scale=dpi / 72).to_pil().convert("L") for page in pypdfium2.PdfDocument(pdf)]


def as_photographed(picture: Image.Image, chance: Random) -> Image.Image:
    """Turned by 7°, a little out of focus, and 100 pixels wide."""
    turned = picture.rotate(chance.choice([-7, 7]), expand=True, fillcolor=255, resample=Image.Resampling.BICUBIC)
    blurred = turned.filter(ImageFilter.GaussianBlur(1.2))
    return blurred.resize((100, round(100 * blurred.height / blurred.width)), Image.Resampling.BILINEAR)


def qr_of(page: Image.Image, sheet: LabelSheet, number: int) -> Image.Image:
    """The square at the left end of a label, where its QR code is."""
    x, y = sheet.corner(number)
    side = sheet.height
    return page.crop(tuple(round(v / MM * DPI) for v in (x, y, x + side, y + side)))


def test_forty_of_forty_labels_are_read_to_their_own_address():
    made, sheet, chance = labels(40), LabelSheet(rows=10, columns=4, gap_x=2), Random(1)
    (page,) = pages(sheets(made, BASE, sheet, "Labels"))
    read = [zxingcpp.read_barcodes(as_photographed(qr_of(page, sheet, n), chance)) for n in range(40)]
    assert [[found.text for found in each] for each in read] == [[f"{BASE}/s/{label.key}".upper()] for label in made]


def test_forty_labels_for_a_strip_printer_are_read_too():
    made, chance = labels(40), Random(2)
    printed = pages(strip(made, BASE, Size("strip", 62, 29), DPI, "Labels"))[1:]
    square = round(29 / MM * DPI)
    read = [zxingcpp.read_barcodes(as_photographed(p.crop((0, 0, square, square)), chance)) for p in printed]
    assert [each[0].text if each else None for each in read] == [f"{BASE}/s/{label.key}".upper() for label in made]


@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.parametrize("room", [18, 20, 27.5])
def test_a_module_is_whole_dots_and_at_least_half_a_millimetre(dpi, room):
    module = Symbol.of(BASE, "7Q4K2").module_mm(room, dpi)
    assert module >= 0.5
    assert module / (MM / dpi) == pytest.approx(round(module / (MM / dpi)))
    assert module * (25 + 2 * QUIET) <= room


def test_the_code_of_an_ordinary_address_is_version_2():
    """ISO/IEC 18004: version 2 has 25 modules a side; level M holds 38 characters of the dense set."""
    assert len(Symbol.of(BASE, "7Q4K2").rows) == 25


def test_an_address_that_makes_the_code_too_fine_is_refused():
    with pytest.raises(Refused, match="too long for a small QR code"):
        Symbol.of("http://a-very-long-name-for-a-laptop.workshop.example.org:8000", "7Q4K2")


@pytest.mark.parametrize("base", ["http://hütte:8000", "192.168.1.50", ""])
def test_what_is_no_web_address_is_refused(base):
    with pytest.raises(Refused, match="no web address"):
        Symbol.of(base, "7Q4K2")


def test_a_label_too_small_for_its_code_is_refused():
    with pytest.raises(Refused, match="use larger ones"):
        sheets(labels(1), BASE, LabelSheet(rows=18, columns=5), "Labels")


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
def test_the_ruler_is_fifty_millimetres(paper):
    """Measured in the rendered page at 1200 dpi: the long line in the lower margin."""
    (page,) = pages(sheets(labels(1), BASE, LabelSheet(paper), "Labels"), 1200)
    band = page.crop((0, page.height - round(8.4 / MM * 1200), page.width, page.height))
    longest = max(longest_dark(band, row) for row in range(band.height))
    assert longest / 1200 * MM == pytest.approx(50.0, abs=0.2)


@pytest.mark.parametrize(
    "pdf",
    [strip(labels(2), BASE, Size("strip", 62, 29), DPI, "Labels"), sheets(labels(2), BASE, LabelSheet(A4), "Labels")],
)
def test_every_letter_stands_on_the_paper(pdf):
    for page in pypdfium2.PdfDocument(pdf):
        text = page.get_textpage()
        boxes = [text.get_charbox(number) for number in range(text.count_chars())]
        assert boxes and all(left >= 0 and right <= page.get_width() for left, _, right, _ in boxes)


def longest_dark(picture: Image.Image, row: int) -> int:
    data = picture.crop((0, row, picture.width, row + 1)).tobytes()
    return max(len(run) for run in bytes(1 if v < 128 else 0 for v in data).split(b"\x00"))


def test_the_printer_is_asked_not_to_scale_and_the_page_has_its_size():
    reader = PdfReader(io.BytesIO(sheets(labels(3), BASE, LabelSheet(LETTER), "Labels")))
    assert reader.viewer_preferences.print_scaling == "/None"
    assert [float(v) for v in reader.pages[0].mediabox[2:]] == pytest.approx([612, 792], abs=0.1)


def test_the_same_labels_make_the_same_bytes():
    assert sheets(labels(9), BASE, LabelSheet(), "Labels") == sheets(labels(9), BASE, LabelSheet(), "Labels")


def test_a_partly_used_sheet_begins_where_it_is_free():
    made, sheet = labels(3), LabelSheet(rows=2, columns=2, start=4)
    printed = pages(sheets(made, BASE, sheet, "Labels"))
    found = [sorted(code.text[-5:] for code in zxingcpp.read_barcodes(page)) for page in printed]
    assert found == [[made[0].key], sorted(label.key for label in made[1:])]


def test_code_and_key_stand_there_as_text():
    text = PdfReader(io.BytesIO(sheets(labels(40), BASE, LabelSheet(), "Labels"))).pages[0].extract_text()
    for label in labels(24):
        assert label.code in text and label.key in text


@pytest.mark.parametrize(
    ("what", "says"),
    [
        ({"rows": 0}, "rows is 0"),
        ({"start": 25}, "a sheet has 24"),
        ({"top": -1}, "top is -1 mm"),
        ({"rows": 20, "columns": 8}, "at least 15 × 15"),
        ({"left": 100, "right": 100}, "at least 15 × 15"),
        ({"dpi": 10}, "allowed: 150 to 1200"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused(what, says):
    with pytest.raises(Refused, match=says):
        LabelSheet(**what)


def test_no_labels_are_refused():
    with pytest.raises(Refused, match="No segment is chosen"):
        sheets([], BASE, LabelSheet(), "Labels")


def test_every_paper_has_room_for_the_labels_it_begins_with():
    for paper in SIZES.values():
        assert sheets(labels(24), BASE, LabelSheet(paper), "Labels").startswith(b"%PDF")
