"""Kernels are compiled anew when something that is compiled changed, and only then."""

import importlib
import inspect
import shutil
from pathlib import Path

import pytest
from numba.extending import is_jitted

from buildlog import kernels
from tests.test_boundaries import ROOT, modules


@pytest.fixture
def core(tmp_path) -> Path:
    """A copy of the core to change."""
    return shutil.copytree(kernels.CORE, tmp_path / "buildlog" / "core")


def test_every_compiled_function_is_in_the_digest():
    paths = [path for path in modules(kernels.CORE) if path.name != "__init__.py"]
    named = [importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts)) for path in paths]
    compiled = {thing.py_func for module in named for thing in vars(module).values() if is_jitted(thing)}
    assert len(compiled) > 20
    assert {Path(inspect.getfile(function)) for function in compiled} <= set(kernels.sources())


@pytest.mark.parametrize("name", ["release_work.py", "records.py", "compiled.py", "patterns.py", "stages.py"])
def test_what_is_compiled_and_what_it_reads_changes_the_folder(core, name):
    before = kernels.digest(core)
    (path,) = core.rglob(name)
    path.write_text(path.read_text() + "\nNEW = 1\n")
    assert kernels.digest(core) != before


@pytest.mark.parametrize("name", ["track_record.py", "questions/day_plan.py", "ledger.py"])
def test_what_is_not_compiled_leaves_it(core, name):
    before = kernels.digest(core)
    (path,) = core.rglob(name)
    path.write_text(path.read_text() + "\nNEW = 1\n")
    assert kernels.digest(core) == before


def test_the_copy_counts_as_the_original(core):
    assert kernels.digest(core) == kernels.digest()
