"""The environment that the program makes for itself, on any bare Python."""

from __future__ import annotations

import ast
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from buildlog import install

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    """A program whose lock names nothing, installed."""
    root = tmp_path_factory.mktemp("program")
    (root / "requirements.lock").write_text("# nothing\n")
    (root / "tests").mkdir()
    (root / "tests/requirements.lock").write_text("# nothing, for tests\n")
    install.install(root=root)
    return root


def test_it_imports_nothing_that_has_to_be_installed():
    tree = ast.parse((ROOT / "buildlog/install.py").read_text())
    names = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    names |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.split(".")[0] for name in names} <= sys.stdlib_module_names
    assert (ROOT / "buildlog/__init__.py").read_text() == "", "it is run before everything else"


def test_the_environment_is_made_and_used_again(made, capsys):
    assert install.python_of(made / ".venv").exists()
    install.install(root=made)
    assert capsys.readouterr().out == "", "nothing is left to do"


def test_another_lock_is_installed_and_that_of_the_tests_holds_the_other(made, capsys):
    install.install(root=made, tests=True)
    assert "Installing 0 packages" in capsys.readouterr().out
    install.install(root=made)
    assert capsys.readouterr().out == ""
    (made / "requirements.lock").write_text("# another\n")
    (made / "tests/requirements.lock").write_text("# another, for tests\n")
    install.install(root=made)
    assert "Installing 0 packages" in capsys.readouterr().out


def test_what_cannot_be_installed_is_said_and_tried_again(made, capsys):
    (made / "requirements.lock").write_text("nobody-has-this==1.0 --hash=sha256:" + "0" * 64 + "\n")
    for _ in range(2):
        with pytest.raises(SystemExit, match="could not be installed"):
            install.install(root=made)
    assert "Installing 1 packages" in capsys.readouterr().out


def test_an_environment_whose_python_is_gone_is_made_anew(tmp_path):
    python = install.python_of(tmp_path / ".venv")
    python.parent.mkdir(parents=True)
    python.symlink_to(tmp_path / "gone")
    (tmp_path / "requirements.lock").touch()
    install.install(root=tmp_path)
    assert python.exists()


def test_progress_counts_the_packages_and_says_their_names(capsys):
    lines = [
        "Collecting django==5.2.1 (from -r x)\n",
        "  Using cached\n",
        "Processing /wheels/psycopg_binary-3.2.9-cp311.whl\n",
        "Collecting et-xmlfile==2.0.0 (from -r x)\n",
        "Installing collected packages: a, b\n",
    ]
    assert list(install._with_progress(lines, 3)) == lines
    counted = ["1 of 3: django", "2 of 3: psycopg_binary", "3 of 3: et-xmlfile", "all here: putting them in place …"]
    assert [line.strip() for line in capsys.readouterr().out.splitlines()] == counted


def test_inside_without_django_it_does_not_go_round_in_circles(monkeypatch):
    monkeypatch.setattr(install, "inside", lambda: True)
    with pytest.raises(SystemExit, match="remove that folder"):
        install.go_on_inside(["manage.py"])


def test_where_a_process_cannot_be_replaced_its_exit_status_is_handed_on():
    assert install._as_child([sys.executable, "-c", "raise SystemExit(3)"]) == 3


@pytest.mark.long
def test_a_bare_python_loads_the_demo(tmp_path):
    """With a PATH that holds Python alone. Needs the packages: a network, or a place where pip finds them."""
    program, path = tmp_path / "program", tmp_path / "path"
    left_out = shutil.ignore_patterns(".git", ".venv", "data", ".kernels", "__pycache__", ".*_cache", ".hypothesis")
    shutil.copytree(ROOT, program, ignore=left_out)
    path.mkdir()
    (path / "python").symlink_to(Path(sys.base_prefix) / "bin/python3")
    kept = {key: value for key, value in os.environ.items() if key.startswith("PIP_") or key == "HOME"}
    done = subprocess.run(
        [path / "python", "manage.py", "demo"], cwd=program, env=kept | {"PATH": str(path)},
        capture_output=True, text=True, timeout=1200,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert " of " in done.stdout and "Harbour lantern" in done.stdout
