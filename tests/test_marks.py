"""A refusal is a template that is marked for translation, and its values; the mark is the mark."""

import ast

import pytest

from tests.test_boundaries import name_of, written_by_hand


def marks_lost(source: str) -> list[str]:
    """Where ``_`` is called to mark a sentence and is something else there: not imported, or a variable's name."""
    tree = ast.parse(source)
    brought = any(_brings_the_mark(node) for node in ast.walk(tree))
    lost = [] if brought or not _marks(tree) else ["it marks sentences and does not import _"]
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and _marks(node) and "_" in _named(node):
            lost.append(f"line {node.lineno}: {node.name} marks sentences and calls a variable _")
    return lost


def _brings_the_mark(node: ast.AST) -> bool:
    if isinstance(node, ast.FunctionDef):
        return node.name == "_"
    return isinstance(node, ast.ImportFrom) and any(alias.name == "_" for alias in node.names)


def _marks(tree: ast.AST) -> bool:
    calls = (node.func for node in ast.walk(tree) if isinstance(node, ast.Call))
    return any(isinstance(func, ast.Name) and func.id == "_" for func in calls)


def _named(node: ast.AST) -> set[str]:
    """Names given in a function itself; those of comprehensions are their own."""
    own = {"_"} if isinstance(node, ast.Name) and node.id == "_" and isinstance(node.ctx, ast.Store) else set()
    inner = (ast.ListComp, ast.SetComp, ast.DictComp, ast.GeneratorExp, ast.Lambda)
    return own.union(*(_named(child) for child in ast.iter_child_nodes(node) if not isinstance(child, inner)))


@pytest.mark.parametrize("path", written_by_hand(), ids=name_of)
def test_a_mark_is_the_mark(path):
    assert not marks_lost(path.read_text())


REFUSALS = {"Problem", "Unreadable"}


def finished_sentences(source: str) -> list[str]:
    """Where a refusal is a text that was made already, or one that nobody could translate."""
    calls = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call) and node.args)
    return [
        f"line {call.lineno}: {ast.unparse(call.args[0])}"
        for call in calls
        if isinstance(call.func, ast.Name) and call.func.id in REFUSALS
        if isinstance(call.args[0], ast.JoinedStr | ast.Constant)
    ]


@pytest.mark.parametrize("path", written_by_hand(), ids=name_of)
def test_a_refusal_is_a_marked_template_and_its_values(path):
    assert not finished_sentences(path.read_text())


@pytest.mark.parametrize("source", ['Problem(f"No ring {ring}.", "rings")', 'Unreadable("No.")'])
def test_a_finished_sentence_is_noticed(source):
    assert finished_sentences(source)


@pytest.mark.parametrize(
    "source",
    ["raise Refused(Problem(_('No.')))", "from x import _\ndef f():\n    a, _ = 1, 2\n    return _('No.')"],
)
def test_a_lost_mark_is_noticed(source):
    assert marks_lost(source)
