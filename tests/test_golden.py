"""Golden files compared: one altered value is noticed in every kind of file, and nothing else is."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest
from reportlab.pdfgen.canvas import Canvas

from tests.golden.comparing import compare


@pytest.fixture
def folders(tmp_path) -> tuple[Path, Path]:
    """Before and now, the same."""
    for name in ("before", "now"):
        for part in ("packs", "again"):
            (tmp_path / name / part).mkdir(parents=True)
        write_all(tmp_path / name)
    return tmp_path / "before", tmp_path / "now"


def write_all(folder: Path) -> None:
    write_json(folder)
    write_pdf(folder)
    write_pack(folder / "packs")
    write_pack(folder / "again")
    (folder / "a.csv").write_text("ring,pixels\n1,40\n")
    (folder / "a.txt").write_text("2 rings are short of 40 pixels.\n")


def write_json(folder: Path, finish: object = 24, sentence: str = "Ready in 5 days.") -> None:
    (folder / "a.json").write_text(json.dumps({"finish": {"p50": finish}, "sentence": sentence}))


def write_pdf(folder: Path, text: str = "R1-1", title: str = "Labels") -> None:
    canvas = Canvas(str(folder / "a.pdf"), invariant=1)
    canvas.setTitle(title)
    canvas.drawString(100, 100, text)
    canvas.save()


def write_pack(folder: Path, pixels: int = 40, first: str = "a", more: str = "", took: float = 0.1) -> None:
    """Two rows whose ids put them in order; ``first`` is the id of the first one."""
    rows = [[first, pixels, took], ["c", 58, took]]
    columns = ["id", "pixels", "took_s", *([more] if more else [])]
    table = {"columns": columns, "rows": [[*row, 1] if more else row for row in sorted(rows)]}
    with zipfile.ZipFile(folder / "a.zip", "w") as pack:
        pack.writestr("pack.json", "{}")
        pack.writestr("segments.json", json.dumps(table))


def differing(before: Path, now: Path, wording: bool = False) -> list[str]:
    return [name for name, differences, _ in compare(before, now, wording) if differences]


def test_two_equal_folders_do_not_differ(folders):
    assert len(list(compare(*folders))) == 6 and not differing(*folders)


@pytest.mark.parametrize("wording", [False, True])
@pytest.mark.parametrize(
    ("name", "alter"),
    [
        ("a.json", lambda now: write_json(now, finish=24.000000001)),
        ("a.json", lambda now: write_json(now, finish=24.0)),
        ("a.json", lambda now: write_json(now, sentence="Ready in 6 days.")),
        ("a.pdf", lambda now: write_pdf(now, "R1-2")),
        ("a.csv", lambda now: (now / "a.csv").write_text("ring,pixels\n1,41\n")),
        ("a.txt", lambda now: (now / "a.txt").write_text("2 rings are short of 41 pixels.\n")),
        ("a.txt", lambda now: (now / "a.txt").unlink()),
        ("b.txt", lambda now: (now / "b.txt").write_text("")),
        ("packs/a.zip", lambda now: write_pack(now / "packs", pixels=41)),
        ("again/a.zip", lambda now: write_pack(now / "again", pixels=41)),
        ("again/a.zip", lambda now: write_pack(now / "again", first="b")),
        ("again/a.zip", lambda now: write_pack(now / "again", first="d")),
    ],
)
def test_an_altered_value_is_noticed(folders, name, alter, wording):
    alter(folders[1])
    assert differing(*folders, wording) == [name]


def test_other_words_differ_unless_wording_is_left_aside(folders):
    write_json(folders[1], sentence="Done within 5 days.")
    (folders[1] / "a.txt").write_text("40 pixels.\n")
    assert differing(*folders) == ["a.json", "a.txt"]
    (folders[1] / "a.txt").write_text("Of 2 rings 40 pixels are missing.\n")
    assert not differing(*folders, wording=True)


def test_what_a_pack_has_beside_is_a_remark_and_what_it_lost_a_difference(folders):
    write_pack(folders[1] / "packs", first="d", took=0.2)
    write_pack(folders[1] / "again", more="colour", took=0.2)
    told = {name: (differences, remarks) for name, differences, remarks in compare(*folders)}
    assert told["again/a.zip"] == ([], ["new in the pack: segments.colour"])
    assert told["packs/a.zip"] == ([], []), "other ids, another order"
    assert differing(*reversed(folders)) == ["again/a.zip"]


def test_what_does_not_show_in_a_print_is_no_difference(folders):
    write_pdf(folders[1], title="Other labels")
    told = {name: (differences, remarks) for name, differences, remarks in compare(*folders)}
    assert told["a.pdf"] == ([], ["bytes differ, what they say does not"])
