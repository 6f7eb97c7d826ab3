"""What a stage is stands in one table: no list of stage words, and no count of stages, anywhere else."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from buildlog.core.work.stages import STAGES

ROOT = Path(__file__).resolve().parent.parent
WORDS = {word for stage in STAGES for word in (stage.value, stage.done)}
TABLE = ROOT / "buildlog" / "core" / "work" / "stages.py"
# Columns of the database, and the document that stays stable for whoever reads the files.
LIST = re.compile(rf"\b({'|'.join(sorted(WORDS))})\b(\W+({'|'.join(sorted(WORDS))})\b){{2}}")
NUMBERED = re.compile(r"(stage|kind) (==|!=|<|<=|>|>=|in|not in) [(\[{]?\d.*|STAGES\[\d\]")
COLUMNS = {ROOT / "buildlog" / "models" / "plan.py"}


def python_files() -> list[Path]:
    paths = sorted((ROOT / "buildlog").rglob("*.py"))
    apart = {TABLE, *COLUMNS}
    return [path for path in paths if path not in apart and "migrations" not in path.parts]


def lists_of_words(source: str) -> Iterator[str]:
    """Places where two stages or more are listed by hand, or counted, or where a stage is known by its number."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Tuple | ast.List | ast.Set):
            names = [part.id if isinstance(part, ast.Name) else getattr(part, "value", None) for part in node.elts]
            yield from _listed(node, names)
        elif isinstance(node, ast.Dict):
            yield from _listed(node, [getattr(key, "value", None) for key in node.keys])
        elif isinstance(node, ast.Call) and ast.unparse(node) == "range(4)":
            yield f"line {node.lineno}: range(4)"
        elif NUMBERED.fullmatch(ast.unparse(node) if isinstance(node, ast.Compare | ast.Subscript) else ""):
            yield f"line {node.lineno}: {ast.unparse(node)}"


def _listed(node: ast.expr, names: list[object]) -> Iterator[str]:
    words = [name for name in names if isinstance(name, str) and name in WORDS]
    if len(words) > 1:
        yield f"line {node.lineno}: {words}"


@pytest.mark.parametrize("path", python_files(), ids=lambda path: str(path.relative_to(ROOT)))
def test_no_module_lists_the_stages_again(path):
    assert not list(lists_of_words(path.read_text()))


def words_in(text: str) -> set[str]:
    return WORDS & set(re.findall(r"[a-z]+", re.sub(r"\{[#%].*?[#%]\}|/\*.*?\*/|//[^\n]*", "", text, flags=re.S)))


@pytest.mark.parametrize(
    "path", sorted((ROOT / "static" / "js").glob("*.js")), ids=lambda path: str(path.relative_to(ROOT))
)
def test_no_script_lists_the_stages_again(path):
    assert len(words_in(path.read_text())) < 2


@pytest.mark.parametrize(
    "path", sorted((ROOT / "templates").rglob("*.html")), ids=lambda path: str(path.relative_to(ROOT))
)
def test_no_template_lists_the_stages_again(path):
    bare = re.sub(r"<[^>]*>|\{[{#%].*?[}#%]\}", " ", path.read_text(), flags=re.S)
    assert not LIST.search(bare)


@pytest.mark.parametrize(
    "source",
    [
        'DONE = {"populate": "populated", "mount": "mounted"}',
        'known = ("wire", "test")',
        "populated, mounted, wired, tested = counts",
        "for stage in range(4): pass",
        "if stage == 2: pass",
        "late = kind in (1, 3)",
        "first = STAGES[0]",
    ],
)
def test_a_list_of_stages_is_noticed(source):
    assert list(lists_of_words(source))


def test_one_stage_alone_is_no_list():
    assert not list(lists_of_words('if stage == "wire" or other == ("test", 3): pass'))
