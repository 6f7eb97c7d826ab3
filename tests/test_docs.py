"""The two documents name every command and every setting that comes from the environment."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
DOCUMENTS = [ROOT / "README.md", ROOT / "DEVELOPERS.md"]
COMMANDS = sorted(
    path.stem for path in (ROOT / "buildlog/management/commands").glob("*.py") if not path.stem.startswith("_")
)


def settings() -> list[str]:
    """Every name read from the environment, wherever in the app that happens."""
    sources = "\n".join(path.read_text() for path in (ROOT / "buildlog").rglob("*.py"))
    return sorted(set(re.findall(r"\b(?:BUILDLOG_[A-Z_]+|DATABASE_URL)\b", sources)))


def make_targets() -> list[str]:
    return re.findall(r"^([a-z][a-z-]*):.*##", (ROOT / "Makefile").read_text(), re.M)


@pytest.fixture(scope="module")
def documents() -> str:
    missing = [path.name for path in DOCUMENTS if not path.exists()]
    if missing:
        pytest.skip(f"not written yet: {', '.join(missing)}")
    return "\n".join(path.read_text() for path in DOCUMENTS)


def names_in_code(text: str) -> set[str]:
    """Words set as code: between backticks or in a code block."""
    code = re.findall(r"```.*?```|`[^`\n]+`", text, re.S)
    return set(re.findall(r"[A-Za-z_][\w-]*", " ".join(code)))


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_named(command, documents):
    assert command in names_in_code(documents)


@pytest.mark.parametrize("setting", settings())
def test_every_setting_is_named(setting, documents):
    assert setting in names_in_code(documents)


@pytest.mark.parametrize("target", make_targets())
def test_every_make_target_is_named(target, documents):
    assert target in names_in_code(documents)


def test_the_readers_find_what_there_is():
    assert "serve" in COMMANDS
    assert {"DATABASE_URL", "BUILDLOG_DATA", "BUILDLOG_HOSTS", "BUILDLOG_TLS", "BUILDLOG_DEBUG"} <= set(settings())
    assert {"demo", "test"} <= set(make_targets())
    assert names_in_code("Say `make demo` or\n```\nmake test\n```\nnot this") == {"make", "demo", "test"}


def recipes() -> list[str]:
    text = (ROOT / "DEVELOPERS.md").read_text()
    return re.findall(r"^- \*\*.*?(?=^- \*\*|^## )", text.split("## How to …")[1], re.M | re.S)


def places(text: str) -> list[str]:
    """Files and folders that a recipe sends one to."""
    return re.findall(r"`([a-z_]+(?:/[a-z_]+)*(?:/|\.py))(?:::\w+)?`", text)


def is_there(place: str) -> bool:
    return any((ROOT / top / place).exists() for top in ("", "buildlog"))


@pytest.mark.parametrize("recipe", recipes(), ids=lambda recipe: recipe.split("**")[1])
def test_a_recipe_leads_to_places_and_names_that_are_there(recipe):
    assert [place for place in places(recipe) if not is_there(place)] == []
    sources = "\n".join(
        path.read_text() for path in [*(ROOT / "buildlog").rglob("*.py"), *(ROOT / "tests").rglob("*.py")]
    )
    names = re.findall(r"`([A-Z][A-Za-z_]+|[a-z]+_[a-z_]+)`", recipe)
    assert [name for name in names if not re.search(rf"\b{name}\b", sources)] == []


def test_a_recipe_that_leads_nowhere_is_noticed():
    assert [place for place in places("`core/work/stages.py` and `core/nowhere.py`") if not is_there(place)] == [
        "core/nowhere.py"
    ]
