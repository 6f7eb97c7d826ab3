"""tests/core mirrors buildlog/core: a file of tests beside every module, or a sentence why there is none."""

from pathlib import Path

CORE, HERE = Path(__file__).parents[2] / "buildlog" / "core", Path(__file__).parent
TRIALS = "a step of the trials cannot be taken alone: whole trials are played in this folder's tests"
DATA = "plain data, without logic"
WITHOUT = {
    "forecast/result/document/what_if.py": DATA,
    "forecast/result/fact_words.py": "the words of facts, tried where they are said, in test_sentences.py",
    "forecast/result/warm.py": "compiles what a trial needs, and answers nothing",
    **{f"forecast/simulate/{name}.py": TRIALS for name in (
        "arrays", "attendance", "choose_work", "draws", "effort", "events", "release_work", "run", "state",
    )},
    "forecast/simulate/compiled.py": "how the compiler is asked: whatever is compiled tries it",
    "forecast/simulate/records.py": DATA,
    "plan/parameter.py": "tried with the kinds of values, in test_kinds.py",
    "plan/parts.py": DATA,
    "plan/warning.py": "tried with what is warned of, in test_remarks.py and test_check_rings.py",
    "sizes.py": DATA,
    "work/rows.py": DATA,
}  # fmt: skip


def mirror(module: Path) -> Path:
    place = HERE / module.relative_to(CORE)
    return place.with_name(f"test_{place.name}")


def modules() -> list[Path]:
    return [path for path in sorted(CORE.rglob("*.py")) if path.name != "__init__.py"]


def test_every_module_has_its_tests_or_a_reason():
    without = {path.relative_to(CORE).as_posix() for path in modules() if not mirror(path).exists()}
    assert without == set(WITHOUT)
