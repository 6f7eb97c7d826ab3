"""What the sources do without: a shell, code made from text, weak hashes, markup written by scripts."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
MODULES = sorted((ROOT / "buildlog").rglob("*.py"))
SCRIPTS = sorted(path for path in (ROOT / "static").rglob("*.js") if "vendor" not in path.parts)
# Called by any name; `exec` and `compile` of other things (a pattern, a statement of SQL) are attributes.
NEVER_CALLED = {"eval", "exec", "compile", "__import__"}
NEVER_USED = {
    "os": {"system", "popen"}, "hashlib": {"md5", "sha1", "new"}, "subprocess": {"getoutput", "getstatusoutput"},
    "safestring": {"mark_safe"}, "expressions": {"RawSQL"},
}  # fmt: skip
NEVER_IMPORTED = {"pickle", "marshal", "shelve", "dill", "xml.etree", "xml.dom", "xml.sax", "random"}
MARKUP = re.compile(
    r"\.(?:inner|outer)HTML\b|insertAdjacentHTML|document\.write|\beval\(|new Function|on(?:paste|copy)"
)
PASTE = re.compile(r"""['"](?:before)?paste['"]""")


def dangers(source: str) -> list[str]:
    tree = ast.parse(source)
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name) and node.func.id in NEVER_CALLED:
                found.append(node.func.id)
            found += ["shell" for word in node.keywords if word.arg == "shell"]
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            if node.attr in NEVER_USED.get(node.value.id, ()):
                found.append(f"{node.value.id}.{node.attr}")
        elif isinstance(node, ast.ImportFrom):
            module = node.module or ""
            names = {each.name for each in node.names}
            found += sorted(names & NEVER_USED.get(module.rpartition(".")[2], set()))
            found += [module] if _forbidden(module) else []
        elif isinstance(node, ast.Import):
            found += [each.name for each in node.names if _forbidden(each.name)]
    return found


def _forbidden(module: str) -> bool:
    return any(module == name or module.startswith(f"{name}.") for name in NEVER_IMPORTED)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_nothing_runs_what_it_was_given(path):
    assert dangers(path.read_text()) == []


@pytest.mark.parametrize(
    ("source", "name"),
    [
        ("subprocess.run(f'ls {x}', shell=True)", "shell"),
        ("import os\nos.system(x)", "os.system"),
        ("eval(x)", "eval"),
        ("import pickle", "pickle"),
        ("from xml.etree import ElementTree", "xml.etree"),
        ("hashlib.md5(x)", "hashlib.md5"),
        ("from hashlib import sha1", "sha1"),
        ("from django.utils.safestring import mark_safe", "mark_safe"),
        ("import random", "random"),
    ],
)
def test_a_danger_is_noticed(source, name):
    assert dangers(source) == [name]


def test_what_is_harmless_passes():
    assert dangers("import re\nre.compile(x)\nsubprocess.run(['ls', x])\nhashlib.sha256(x)\nos.replace(a, b)") == []


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_scripts_write_text_and_never_markup(path):
    assert MARKUP.findall(path.read_text()) == []


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_no_script_keeps_anybody_from_pasting(path):
    assert PASTE.findall(path.read_text()) == []


@pytest.mark.parametrize("script", ["node.innerHTML = name", "document.write(x)", "new Function(x)", "eval(x)"])
def test_markup_by_a_script_is_noticed(script):
    assert MARKUP.search(script)
