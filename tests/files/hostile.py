"""Files made to eat the machine, and the child process in which one of them is read."""

from __future__ import annotations

import io
import json
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from random import Random

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
SHEETS = "application/vnd.openxmlformats-officedocument.spreadsheetml."
PICTURE = Random(1).randbytes(400_000)  # nobody can pack it, so that the rest may be packed a thousandfold
PARTS = (("workbook", "sheet.main"), ("worksheets/s", "worksheet"), ("styles", "styles"), ("t", "sharedStrings"))
HEADER = b"name,stage,start,end,break_min,segment,pixels\n"
ENTITIES = "".join(f"<!ENTITY {name} '{8 * f'&{of};'}'>" for of, name in zip("abcdefgh", "bcdefghi", strict=True))
LAUGHS = f"<!DOCTYPE sst [<!ENTITY a 'ha'>{ENTITIES}]>"


def zipped(members: dict[str, bytes], how: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", how) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return out.getvalue()


def xlsx(rows: str, strings: str = "", before: str = "", styles: str = "", sheets: int = 1) -> bytes:
    """A workbook of one sheet (listed several times, if wished) with these rows, as text of the format."""
    listed = "".join(f'<sheet name="s{n}" sheetId="{n}" r:id="r1"/>' for n in range(1, sheets + 1))
    types = "".join(f'<Override PartName="/xl/{part}.xml" ContentType="{SHEETS}{kind}+xml"/>' for part, kind in PARTS)
    links = "".join(f'<Relationship Id="r{n}" Type="{OFFICE}/{kind}" Target="{part}.xml"/>'
                    for n, (part, kind) in enumerate(PARTS[1:], start=1))  # fmt: skip
    members = {
        "[Content_Types].xml": f'<Types xmlns="{PACKAGE}/content-types">{types}</Types>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>{listed}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}/relationships">{links}</Relationships>',
        "xl/worksheets/s.xml": f'<worksheet xmlns="{MAIN}">{before}<sheetData>{rows}</sheetData></worksheet>',
        "xl/t.xml": f'{LAUGHS if "&" in strings else ""}<sst xmlns="{MAIN}">{strings}</sst>',
        "xl/styles.xml": f'<styleSheet xmlns="{MAIN}">{styles}</styleSheet>',
    }
    return zipped({name: text.encode() for name, text in members.items()} | {"xl/media/a.png": PICTURE})


def cell(place: str, text: str) -> str:
    return f'<c r="{place}" t="inlineStr"><is><t>{text}</t></is></c>'


RINGS = f'<row r="1">{cell("A1", "ring")}{cell("B1", "pixels")}</row>'
ONE = '<row r="2"><c r="A2"><v>1</v></c><c r="B2"><v>40</v></c></row>'
STINT = b"Ada,populate,2026-05-02 09:00:00,2026-05-02 09:03:42,0,R1-1,28\n"

TABLES: dict[str, Callable[[], bytes]] = {
    "dimensions of the largest sheet there can be": lambda: xlsx(
        RINGS + ONE, before='<dimension ref="A1:XFD1048576"/>'
    ),
    "a cell in the last column of the last row": lambda: xlsx(
        RINGS + ONE + '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    ),
    "a million cells in one row": lambda: xlsx(RINGS + f'<row r="2">{"<c/>" * 1_000_000}</row>'),
    "one sheet listed 40 times": lambda: xlsx(RINGS + ONE, before="<cols/>" * 15_000, sheets=40),
    "a sheet with 30 MB in front": lambda: xlsx(RINGS + ONE, before=" " * 30_000_000, sheets=40),
    "a million rows": lambda: xlsx(RINGS + "<row><c><v>1</v></c></row>" * 900_000),
    "as many cells as are read": lambda: xlsx(RINGS + f"<row>{'<c><v>1</v></c>' * 50}</row>" * 6_900),
    "as many empty rows as are read": lambda: xlsx(RINGS + "<row/>" * 219_000),
    "strings": lambda: xlsx(RINGS + ONE, strings="<si><t>x</t></si>" * 1_000_000),
    "as many strings as are read": lambda: xlsx(RINGS + ONE, strings="<si><t>x</t></si>" * 99_000),
    "one string in a million runs": lambda: xlsx(RINGS + ONE, strings=f"<si>{'<r><t>x</t></r>' * 800_000}</si>"),
    "one string of 30 MB": lambda: xlsx(RINGS + ONE, strings=f"<si><t>{'x' * 30_000_000}</t></si>"),
    "a billion laughs": lambda: xlsx(RINGS + ONE, strings="<si><t>&i;</t></si>"),
    "a million styles": lambda: xlsx(RINGS + ONE, styles=f"<cellXfs>{'<xf/>' * 1_000_000}</cellXfs>"),
    "as many styles as are read": lambda: xlsx(RINGS + ONE, styles=f"<cellXfs>{'<xf/>' * 19_000}</cellXfs>"),
    "one sheet listed 15,000 times": lambda: xlsx(RINGS + ONE, before="<cols/>" * 15_000, sheets=15_000),
    "a million links": lambda: xlsx(
        RINGS + ONE, before="<mergeCells>" + 900_000 * '<mergeCell ref="A1"/>' + "</mergeCells>"
    ),
    "a tag of 30 MB": lambda: xlsx(RINGS + '<row a="' + "x" * 30_000_000 + '"/>'),
    "a tag of a million attributes": lambda: xlsx("<row " + " ".join(f"a{n}=''" for n in range(1_000_000)) + "/>"),
    "elements 500,000 deep": lambda: xlsx(RINGS + "<a>" * 500_000 + "</a>" * 500_000),
    "a zip in a zip": lambda: zipped({"a.zip": zipped({"b": b"0" * 90_000_000})}),
    "a member of 1 GB": lambda: zipped({f"xl/{n}.xml": b" " * 100_000_000 for n in range(2)}),
    "60,000 parts": lambda: zipped({f"xl/{n}.xml": b"" for n in range(60_000)}, zipfile.ZIP_STORED),
    "packed in another way": lambda: zipped({"xl/a.xml": b"0" * 1_000_000}, zipfile.ZIP_LZMA),
    "60,000 columns": lambda: (",".join(f"c{n}" for n in range(60_000)) + "\n" + "," * 60_000 + "\n").encode() * 20,
    "columns in each row": lambda: b"ring,pixels\n" + (b"," * 60_000 + b"\n") * 300,
    "one line of 100 MB": lambda: b"ring,pixels\n" + b"1" * 100_000_000,
    "one line of 19 MB": lambda: "ring,pixels\n🎈".encode() + b"1" * 19_000_000,
    "a quoted cell of 100 MB": lambda: b'ring,pixels\n"' + b"1" * 100_000_000 + b'"',
    "a quoted cell of 19 MB": lambda: b'ring,pixels\n"' + b"1\n" * 9_500_000 + b'"',
    "a row over millions of lines": lambda: b'ring,pixels\n"' + b'","\n' * 4_700_000,
    "commas alone": lambda: b"ring,pixels\n" + b"," * 19_000_000,
    "empty lines": lambda: b"ring,pixels\n" + b"\n" * 19_000_000,
    "rows of which each is wrong": lambda: b"ring,pixels\n" + b"x,y\n" * 210_000,
    "rings that come twice": lambda: b"ring,pixels\n" + b"1,1\n" * 210_000,
    "digits": lambda: b"ring,pixels\n" + (b"9" * 5000 + b",1\n") * 3_000,
    "stints of which each is wrong": lambda: HEADER + b"A,b,c,d,e,f,g\n" * 210_000,
    "as many stints as are read": lambda: HEADER + STINT * 219_000,
    "NULs": lambda: b"\x00" * 19_000_000,
    "UTF-16": lambda: ("ring,pixels\n" + "1,40\n" * 10_000).encode("utf-16"),
    "half a letter": lambda: b"ring,pixels\n1,\xc3",
}


def pack(rows: str, number: int = 1, title: str = "") -> bytes:
    """A packed build of one table."""
    title = title or f'{{"kind":"buildlog pack","format":1,"rows":{{"build":{number}}}}}'
    table = f'{{"columns":["code"],"rows":[{rows}]}}'
    return zipped({"pack.json": title.encode(), "build.json": table.encode(), "a.png": PICTURE})


PACKS: dict[str, Callable[[], bytes]] = {
    "a pack of millions of empty lists": lambda: pack(f"[[{'[],' * 10_000_000}[]]]"),
    "a pack of millions of empty rows": lambda: pack("[[]]," * 6_000_000 + "[[]]", 6_000_001),
    "a pack with as many texts as are read": lambda: pack("[[" + 2_400_000 * '"aa",' + "1]]"),
    "a pack with as many lists as are read": lambda: pack(f"[[{'[],' * 1_200_000}1]]"),
    "a pack with as many tables as are read": lambda: pack(f"[[{'{},' * 1_200_000}1]]"),
    "a pack with as many rows as are read": lambda: pack('["aa"],' * 99_000 + '["aa"]', 99_001),
    "a pack with one text of 31 MB": lambda: pack('["' + "🎈" * 7_700_000 + '"]'),
    "a pack that unpacks to 500 MB": lambda: zipped(
        {"pack.json": b" " * 250_000_000, "build.json": b" " * 250_000_000}
    ),
    "a pack with a number of 5,000 digits": lambda: pack(f"[{'9' * 5000}]"),
    "a pack with a number beyond all bounds": lambda: pack("[1e999]"),
    "a pack with lists 100,000 deep": lambda: pack(f"[{'[' * 100_000}{']' * 100_000}]"),
    "a pack with half a letter": lambda: pack('["\\ud800"]'),
    "a pack with the same key twice": lambda: pack(
        "[1]", title='{"kind":"buildlog pack","format":1,"rows":{},"rows":5}'
    ),
    "a pack with a table of nobody": lambda: pack("[1]", title='{"kind":"buildlog pack","format":1,"rows":{"x":-1}}'),
}

CHILD = """
import json, resource, sys, time
resource.setrlimit(resource.RLIMIT_AS, (2 << 30, 2 << 30))
resource.setrlimit(resource.RLIMIT_CPU, (20, 20))  # of a slow machine, however busy
from pathlib import Path
from zoneinfo import ZoneInfo
from buildlog.core.errors import Refused
from buildlog.files import kinds
from buildlog.files.pack import BY_BROWSER, from_zip
content = Path(sys.argv[2]).read_bytes()
begun = time.process_time()
try:
    if sys.argv[1] == "pack":
        says = f"{len(from_zip(content, BY_BROWSER).tables)} tables"
    else:
        reading = kinds.rings(content) if sys.argv[1] == "rings" else kinds.stints(content, ZoneInfo("UTC"))
        says = f"{len(reading.rows)} rows, {len(reading.problems)} problems"
except Refused as refused:
    says = str(refused)[:200]
took = time.process_time() - begun
status = Path("/proc/self/status").read_text()  # not getrusage: a child begins with its parent's highest there
peak = int(status.partition("VmHWM:")[2].split()[0]) / 1024
print(json.dumps({"says": says, "peak_mb": peak, "seconds": took}))
"""
ROOT = Path(__file__).parent.parent.parent
DEADLINE_S = 120  # for a child that only waits; how long it really takes is measured in tests/bench


def read_in_child(name: str, folder: str) -> dict:
    """Read one of TABLES or PACKS in a process of its own: what it says, and its memory at the worst [MB]."""
    path = f"{folder}/file"
    with open(path, "wb") as out:
        out.write((TABLES | PACKS)[name]())
    kind = "pack" if name in PACKS else "stints" if "stints" in name else "rings"
    done = subprocess.run(
        [sys.executable, "-c", CHILD, kind, path], cwd=ROOT, timeout=DEADLINE_S,
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)
