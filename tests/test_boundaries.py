"""The house rules that can be read from the files: who imports whom, what the core leaves alone, sizes,
and no inline script or style. DEVELOPERS.md gives the reasons; change the law there and here together."""

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house import CORE, CORE_ORDER, FORECAST_ORDER, backward

ROOT = Path(__file__).resolve().parent.parent
APP = ROOT / "buildlog"
LONGEST_MODULE = 400

DATA = {"core", "models", "away"}
SHELL = DATA | {"access", "actions", "checks", "drawings", "files", "forms", "network", "paper", "queries", "words"}
OF_NOTHING = ("core", "away", "certificates", "install", "kernels", "network", "request_log", "statics", "wsgi")
MAY_IMPORT: dict[str, set[str]] = {
    **{part: set() for part in OF_NOTHING},
    "middleware": {"core", "words", "away"},
    "words": {"core"},
    "drawings": {"core"},
    "paper": {"core", "drawings"},
    "files": {"core"},
    "templatetags": {"core", "drawings", "words", "backups", "certificates"},
    "models": {"core"},
    "migrations": DATA,
    "queries": DATA,
    "actions": DATA | {"queries"},
    "forms": DATA | {"words"},
    "access": DATA,
    "checks": DATA,
    "imports": {"core"},
    "loading": DATA | {"files", "actions"},
    "forecasting": DATA | {"queries", "actions"},
    "answering": DATA | {"queries", "actions", "forecasting"},
    "backups": DATA | {"queries", "actions", "files"},
    "demo": DATA | {"actions"},
    "views": SHELL | {"imports", "loading", "forecasting"},
    "management": SHELL | {"asgi", "imports", "loading", "forecasting", "answering", "demo", "backups", "certificates"},
    "urls": {"views"},
    "settings": {"network", "kernels"},
    "apps": {"checks", "words", "away"},
    "gate": {"core", "middleware"},
    "asgi": {"gate", "wsgi"},
}
# The core reckons: what it needs of the world (time, chance, files) it is given.
WORLDLY = {
    "django", "os", "io", "pathlib", "shutil", "tempfile", "sqlite3", "socket", "subprocess", "time",
    "random", "secrets", "logging", "urllib",
}  # fmt: skip
CORE_LIBRARIES = {"msgspec", "numpy", "scipy", "numba", "buildlog"}
CLOCKS = {"now", "utcnow", "today"}
SEEDED = {"Generator", "default_rng", "SeedSequence", "BitGenerator", "PCG64", "PCG64DXSM", "Philox"}


def modules(folder: Path = APP) -> list[Path]:
    return sorted(folder.rglob("*.py"))


def written_by_hand() -> list[Path]:
    return [path for path in modules() if "migrations" not in path.parts]


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


def part_of(dotted: str) -> str:
    """`buildlog.core.plan` → `core`; the package itself → ``."""
    return dotted.split(".")[1] if "." in dotted else ""


def imports(source: str, package: str = "buildlog") -> Iterator[tuple[int, str]]:
    """Line and full dotted name of everything that is imported, also inside functions."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                parents = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*parents, base]).rstrip(".")
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)


def package_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).parent.parts)


def trespasses(part: str, source: str, package: str = "buildlog") -> list[str]:
    """Imports of our own that the law does not allow to this part."""
    allowed = MAY_IMPORT[part] | {part, ""}
    return [
        f"line {line}: {part} may not import {name}"
        for line, name in imports(source, package)
        if name.split(".")[0] == "buildlog" and part_of(name) not in allowed
    ]


def dotted(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def imported_modules(path: Path) -> set[str]:
    """Modules of ours that this one imports, for types only as well; a package counts where a name of it is taken."""
    known = {dotted(module) for module in modules()}
    names = {name for _, name in imports(path.read_text(), package_of(path)) if name.split(".")[0] == "buildlog"}
    return {name if name in known else name.rpartition(".")[0] for name in names} & known


def circles(arrows: dict[str, set[str]]) -> list[tuple[str, ...]]:
    """Modules that reach themselves, those of one circle together."""
    reached: dict[str, set[str]] = {}
    for start in arrows:
        waiting, seen = list(arrows[start]), set()
        while waiting:
            if (module := waiting.pop()) not in seen:
                seen.add(module)
                waiting += arrows.get(module, ())
        reached[start] = seen
    return sorted({tuple(sorted(other for other in seen if start in reached.get(other, ())))
                   for start, seen in reached.items() if start in seen})  # fmt: skip


def worldly(source: str, package: str = "buildlog.core") -> list[str]:
    """What a module of the core takes from the world instead of being given it."""
    found = []
    for line, name in imports(source, package):
        top = name.split(".")[0]
        if top in WORLDLY:
            found.append(f"line {line}: the core may not import {name}")
        elif top not in CORE_LIBRARIES and not is_stdlib(top):
            found.append(f"line {line}: {top} is no library of the core")
    return found + [
        f"line {node.lineno}: {said}" for node in ast.walk(ast.parse(source)) if (said := reaches_out(node))
    ]


def is_stdlib(top: str) -> bool:
    return top in sys.stdlib_module_names


def reaches_out(node: ast.AST) -> str | None:
    """Reading a clock, opening a file, or drawing from the shared random generator."""
    if isinstance(node, ast.Call):
        called = ast.unparse(node.func)
        if called.rpartition(".")[2] in ("uuid1", "uuid4"):
            return f"{called} draws an id: take it as an argument"
        if called == "open":
            return "opens a file"
        if called.rpartition(".")[2] in CLOCKS and "date" in called.lower():
            return f"{called} reads the clock"
    if isinstance(node, ast.Attribute) and ast.unparse(node.value) in ("np.random", "numpy.random"):
        return None if node.attr in SEEDED else f"np.random.{node.attr} shares its state: take a Generator"
    return None


# What Django does not document, it may change with any release.
UNDOCUMENTED = ("django.db.models.sql", "django.db.backends", "django.db.migrations")
DOCUMENTED = {"django.db.backends.signals.connection_created"}
OWN = {"self", "cls", "super()"}
PUBLIC_ALL_THE_SAME = {"_meta", "_state", "_default_manager", "_replace"}  # the last of named tuples


def private(source: str) -> list[str]:
    """Interfaces of libraries that only their authors may use: undocumented modules, names with an underscore."""
    foreign = [
        f"line {line}: {name} is not documented"
        for line, name in imports(source)
        if name.startswith(UNDOCUMENTED) and name not in DOCUMENTED
    ]
    return foreign + [
        f"line {node.lineno}: {ast.unparse(node)} is somebody else's own"
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Attribute)
        and re.match(r"_[a-z]", node.attr)
        and node.attr not in PUBLIC_ALL_THE_SAME
        and ast.unparse(node.value) not in OWN
    ]


MARKUP_LAW = {
    "script without src": re.compile(r"<script(?![^>]*\bsrc=)[^>]*>", re.I),
    "style element": re.compile(r"<style\b", re.I),
    "style attribute": re.compile(r"\sstyle\s*=", re.I),
    "event attribute": re.compile(r"\son[a-z]+\s*=", re.I),
    "hx-on": re.compile(r"\bhx-on", re.I),
    "js: value": re.compile(r"\b(?:js|javascript)\s*:", re.I),
    "filter in hx-trigger": re.compile(r"""hx-trigger\s*=\s*(?:"[^"]*\[|'[^']*\[)""", re.I),
}


def inline(markup: str) -> list[str]:
    """Inline script or style, which the content security policy stops, and filters, which then fail open."""
    bare = re.sub(r"\{#.*?#\}|\{% comment.*?endcomment %\}", "", markup, flags=re.S)
    bare = re.sub(r"\{% (?:el)?if .*?%\}", "", bare)  # a comparison in a tag is no attribute
    return [f"{what}: {m.group(0)!r}" for what, law in MARKUP_LAW.items() for m in law.finditer(bare)]


# ---- the rules ------------------------------------------------------------------------------


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_imports_obey_the_law(path):
    if path == APP / "__init__.py":
        return
    part = path.relative_to(APP).parts[0].removesuffix(".py")
    assert part in MAY_IMPORT, f"{part} has no place in the house: give it one in MAY_IMPORT and DEVELOPERS.md"
    assert not trespasses(part, path.read_text(), package_of(path))


def test_no_module_imports_itself_by_way_of_others():
    assert not circles({dotted(path): imported_modules(path) for path in modules()})


@pytest.mark.parametrize("path", modules(APP / "core"), ids=name_of)
def test_the_core_takes_nothing_from_the_world(path):
    assert not worldly(path.read_text(), package_of(path))


@pytest.mark.parametrize("path", written_by_hand(), ids=name_of)
def test_nobody_leans_on_what_is_private_to_a_library(path):
    assert not private(path.read_text())


@pytest.mark.parametrize("path", [*written_by_hand(), *modules(ROOT / "tests")], ids=name_of)
def test_no_module_is_too_long(path):
    lines = len(path.read_text().splitlines())
    assert lines <= LONGEST_MODULE, f"{lines} lines: split it by noun"


@pytest.mark.parametrize("path", sorted((ROOT / "templates").rglob("*.html")), ids=name_of)
def test_templates_have_nothing_inline(path):
    assert not inline(path.read_text())


@pytest.mark.parametrize(
    "path", modules(APP / "drawings") + modules(APP / "templatetags") + modules(APP / "views"), ids=name_of
)
def test_drawn_markup_has_nothing_inline(path):
    strings = [n.value for n in ast.walk(ast.parse(path.read_text())) if isinstance(n, ast.Constant)]
    assert not [found for text in strings if isinstance(text, str) and "<" in text for found in inline(text)]


@pytest.mark.parametrize(("folder", "order"), [(CORE, CORE_ORDER), (CORE / "forecast", FORECAST_ORDER)], ids=str)
def test_inside_the_core_no_import_runs_back(folder, order):
    assert not backward(folder, order)


def test_nobody_lives_outside_the_house():
    """Top-level folders are the agreed ones, as far as git tracks them."""
    agreed = {"buildlog", "templates", "static", "tests", "fixtures"}
    ours = {p.name for p in ROOT.iterdir() if p.is_dir() and not p.name.startswith(".")}
    assert ours - agreed <= {"data"}  # data/ is written by the running app and kept out of git


# ---- the rules notice what they are for -----------------------------------------------------


@pytest.mark.parametrize(
    ("part", "source"),
    [
        ("core", "from buildlog.models import Build"),
        ("core", "def f():\n    import buildlog.queries.board"),
        ("queries", "from buildlog import actions"),
        ("actions", "from ..forms import today"),
        ("views", "from buildlog.management.commands import serve"),
        ("urls", "from buildlog.models import Build"),
    ],
)
def test_a_forbidden_import_is_noticed(part, source):
    assert trespasses(part, source, f"buildlog.{part}")


def test_an_import_that_runs_back_is_noticed(tmp_path, monkeypatch):
    monkeypatch.setattr("tests.house.ROOT", tmp_path)
    for room, source in (("learn", "from house.result import fan"), ("result", "from house.learn import rates")):
        (tmp_path / "house" / room).mkdir(parents=True)
        (tmp_path / "house" / room / "module.py").write_text(source)
    assert backward(tmp_path / "house", ("learn", "result")) == [("learn", "result")]
    assert backward(tmp_path / "house", ("result", "learn")) == [("result", "learn")]


def test_an_allowed_import_passes():
    assert not trespasses("views", "from buildlog.actions import ticks\nfrom .pages import home", "buildlog.views")


def test_a_circle_is_noticed():
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"b"}, "d": {"d"}}) == [("b", "c"), ("d",)]
    assert not circles({"a": {"b", "c"}, "b": {"c"}, "c": set()})


@pytest.mark.parametrize(
    "source",
    [
        "import django",
        "from django.utils import timezone",
        "import pandas",
        "import random",
        "from datetime import datetime\nx = datetime.now()",
        "import datetime\nx = datetime.date.today()",
        "text = open('x').read()",
        "from uuid import uuid4\nx = uuid4()",
        "import numpy as np\nx = np.random.normal()",
    ],
)
def test_a_worldly_core_is_noticed(source):
    assert worldly(source)


def test_a_pure_core_passes():
    assert not worldly("import numpy as np\nfrom datetime import datetime\ndef f(rng: np.random.Generator): ...")


@pytest.mark.parametrize(
    "source",
    [
        "from django.db.models.sql import InsertQuery",
        "from django.db.models.sql.compiler import SQLCompiler",
        "from django.db.migrations.executor import MigrationExecutor",
        "names = parser._option_string_actions",
        "rows.all()._raw_delete('default')",
    ],
)
def test_a_private_interface_is_noticed(source):
    assert private(source)


def test_documented_interfaces_pass():
    assert not private("from django.db import models\nx = self._rows\ny = model._meta.pk, row._replace(a=1)")


@pytest.mark.parametrize(
    "markup",
    [
        "<script>go()</script>",
        "<style>p {}</style>",
        '<p style="color: red">',
        '<p onclick="go()">',
        '<p hx-on:click="go()">',
        "<p hx-vals='js:{a: 1}'>",
        '<a href="javascript:go()">',
        '<p hx-trigger="click[ctrlKey]">',
    ],
)
def test_inline_markup_is_noticed(markup):
    assert inline(markup)


def test_plain_markup_passes():
    assert not inline(
        '<script type="module" src="/static/js/a.js"></script>{# style= #}'
        '<p class="on" data-once="1" hx-trigger="click, every 5s" hx-get="/x/">Stop at once; on = off</p>'
    )
