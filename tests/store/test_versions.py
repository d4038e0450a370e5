"""Old documents climb to the newest version step by step; newer ones are not guessed at."""

import ast
import inspect
from typing import Any

import pytest

from wizard.store import versions


def first(document: dict[str, Any]) -> dict[str, Any]:
    return {**document, "steps": [*document.get("steps", []), "1 to 2"]}


def second(document: dict[str, Any]) -> dict[str, Any]:
    return {**document, "steps": [*document.get("steps", []), "2 to 3"]}


@pytest.mark.parametrize(
    ("version", "expected"),
    [(1, {"steps": ["1 to 2", "2 to 3"]}), (2, {"steps": ["2 to 3"]}), (3, {}), (4, None)],
)
def test_each_version_takes_the_steps_it_lacks(version: int, expected: dict[str, Any] | None) -> None:
    assert versions.brought_up({}, version, (first, second)) == expected


@pytest.mark.parametrize(
    ("schema", "expected"),
    [
        ("portmend/case/1", ("case", 1)),
        ("portmend/look/12", ("look", 12)),
        ("portmend/case/01", None),
        ("portmend/case/", None),
        ("portmend/case/١", None),
        ("portmend/case/99999999999999", None),
        ("other/case/1", None),
        (1, None),
        (None, None),
    ],
)
def test_only_our_own_schemas_are_known(schema: object, expected: tuple[str, int] | None) -> None:
    assert versions.kind_and_version(schema) == expected


def test_migrations_lean_on_nothing_of_ours() -> None:
    tree = ast.parse(inspect.getsource(versions))
    imported = {n.module or "" for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}
    assert not any(name.startswith("wizard") for name in imported)
