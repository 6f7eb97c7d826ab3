"""Two folders of golden files compared, figure by figure; sentences may be left aside, the figures in them not."""

from __future__ import annotations

import io
import json
import re
import zipfile
from collections.abc import Iterator
from difflib import unified_diff
from itertools import islice, zip_longest
from pathlib import Path
from typing import Any

import pypdf

MOST, WIDEST = 200, 600  # differing lines of a file that are told, and characters of one
ALIGNED = 10_000  # lines of both: aligning more takes too long
SENTENCES = {"sentence", "warnings", "changes", "refused", "left", "says"}  # keys of what people read
# What is drawn anew each time, tells how long something took, or points at rows that such ids put in order.
DRAWN = {"id", "label", "stint", "undoes"}
NEVER_THE_SAME = {"took_s", "follows_from"}
ID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
FIGURE = re.compile(r"\d[\d.,:/-]*\d|\d")
Lines = list[str]


def compare(before: Path, after: Path, wording: bool = False) -> Iterator[tuple[str, Lines, Lines]]:
    """Each file's name, how it differs, and remarks that are no differences."""
    names = {path.relative_to(folder) for folder in (before, after) for path in folder.rglob("*") if path.is_file()}
    for name in sorted(names):
        missing = [what for what, folder in (("before", before), ("now", after)) if not (folder / name).exists()]
        if missing:
            yield str(name), [f"is not there {missing[0]}"], []
        elif (before / name).read_bytes() == (after / name).read_bytes():
            yield str(name), [], []
        else:
            yield str(name), *_differences(before / name, after / name, wording)


def _differences(before: Path, after: Path, wording: bool) -> tuple[Lines, Lines]:
    if before.suffix == ".zip":
        return _packs(before, after, wording)
    read = READERS.get(before.suffix, _text)
    found = _unlike(read(before, wording), read(after, wording))
    return found, [] if found else ["bytes differ, what they say does not"]


def _unlike(before: Lines, after: Lines) -> Lines:
    """The first differing lines. Long files are compared line by line, others by what was taken out and put in."""
    if len(before) + len(after) > ALIGNED:
        pairs = enumerate(zip_longest(before, after, fillvalue="(nothing)"), start=1)
        unlike = (f"line {number}: {old}\n      now: {new}" for number, (old, new) in pairs if old != new)
    else:
        marked = islice(unified_diff(before, after, n=0, lineterm=""), 2, None)  # after its two lines of names
        unlike = (line for line in marked if not line.startswith("@@"))
    return [line[:WIDEST] for line in islice(unlike, MOST)]


# ---- kinds of files -------------------------------------------------------------------------


def _text(path: Path, wording: bool) -> Lines:
    lines = path.read_text(encoding="utf-8").splitlines()
    return [line for line in map(_figures, lines) if line] if wording else lines


def _page(path: Path, wording: bool) -> Lines:
    """Spaces inside a tag are left aside: a template may break its lines there."""
    return ["".join(line.split()) if line.startswith("<") else line for line in _text(path, wording)]


def _table(path: Path, wording: bool) -> Lines:
    return path.read_bytes().decode().splitlines()


def _json(path: Path, wording: bool) -> Lines:
    return list(_flat(json.loads(path.read_text(encoding="utf-8") or "null"), "", wording))


def _flat(value: Any, place: str, wording: bool) -> Iterator[str]:
    """A line a value, with its place and its kind: 1 and 1.0 are not the same."""
    if isinstance(value, dict):
        for key in sorted(value):
            yield from _flat(value[key], f"{place}.{key}", wording)
    elif isinstance(value, list):
        yield f"{place} has {len(value)}"
        for number, each in enumerate(value):
            yield from _flat(each, f"{place}[{number}]", wording)
    elif wording and isinstance(value, str) and SENTENCES & set(re.findall(r"\w+", place)):
        yield f"{place}: {_figures(value)}"
    else:
        yield f"{place}: {value!r}"


def _pdf(path: Path, wording: bool) -> Lines:
    """What is drawn, page by page."""
    if not path.read_bytes():
        return []
    contents = [page.get_contents() for page in pypdf.PdfReader(path).pages]
    drawn = [content.get_data().decode("latin-1") for content in contents if content is not None]
    return [f"page {number}: {line}" for number, page in enumerate(drawn, start=1) for line in page.splitlines()]


READERS = {".json": _json, ".html": _page, ".csv": _table, ".pdf": _pdf}


def _figures(text: str) -> str:
    return " ".join(FIGURE.findall(text))


# ---- packs ----------------------------------------------------------------------------------


def _packs(before: Path, after: Path, wording: bool) -> tuple[Lines, Lines]:
    """Every table and column of before holds the same; what a later pack has beside them is a remark.

    Packs in a folder `packs` are of builds made anew: ids and labels differ, and with them the order of rows.
    """
    loose = before.parent.name == "packs"
    old, new = _tables(before), _tables(after)
    more = [f"new in the pack: {name}" for name in new.keys() - old.keys()]
    found: Lines = []
    for name, table in old.items():
        columns, others = table["columns"], new.get(name, {"columns": []})["columns"]
        more += [f"new in the pack: {name}.{column}" for column in others if column not in columns]
        found += [f"{name}.{column} is gone" for column in columns if column not in others]
        common = [column for column in columns if column in others and column not in NEVER_THE_SAME]
        common = [column for column in common if not (loose and column in DRAWN)]
        lines = [_rows(pack[name], common, loose, wording) for pack in (old, new)] if common else [[], []]
        found += [f"{name}.json, {line}" for line in _unlike(*lines)]
    return found, more


def _tables(path: Path) -> dict[str, Any]:
    with zipfile.ZipFile(io.BytesIO(path.read_bytes())) as pack:
        names = [name for name in pack.namelist() if name != "pack.json"]
        return {name.removesuffix(".json"): json.loads(pack.read(name)) for name in names}


def _rows(table: dict[str, Any], columns: Lines, loose: bool, wording: bool) -> Lines:
    """A line a row; what is a document of its own in it follows value by value."""
    places = [table["columns"].index(column) for column in columns]
    rows = [dict(zip(columns, (row[at] for at in places), strict=True)) for row in table["rows"]]
    lines = ["\n".join((_compact(row), *_documents(row, wording))) for row in rows]
    whole = sorted(ID.sub("…", line) for line in lines) if loose else lines
    return "\n".join(whole).splitlines()


def _compact(row: dict[str, Any]) -> str:
    plain = {name: value for name, value in row.items() if not isinstance(value, dict)}
    return json.dumps(plain, sort_keys=True, ensure_ascii=False)


def _documents(row: dict[str, Any], wording: bool) -> Iterator[str]:
    """Sentences of stored documents may also be stored as what they are made of: with ``wording`` they are left out."""
    documents = {name: value for name, value in row.items() if isinstance(value, dict)}
    for line in _flat(documents, "", wording):
        if not (wording and SENTENCES & set(re.findall(r"\w+", line.partition(":")[0]))):
            yield f"  {line}"
