"""The published values are used or have a reason not to be, and every test that uses one would notice another value."""

import importlib.util
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from published import ROWS, UNUSED, Row, altered

Use = tuple[Callable[[Row], None], Row]
LISTED = {i: reason["why"] for group, reason in UNUSED["row"].items() for i in reason.get("ids", [group])}
BESIDE = {i: set(part["parts"]) for i, part in UNUSED["part"].items()}


def uses() -> Iterator[Use]:
    """Every test of this folder with every row it runs for, as its own mark has them."""
    for path in sorted(Path(__file__).parent.glob("test_published_*.py")):
        spec = importlib.util.spec_from_file_location(f"uses_of_{path.stem}", path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        for name, test in vars(module).items():
            for mark in getattr(test, "pytestmark", []) if name.startswith("test_") else []:
                yield from ((test, row) for row in mark.args[1] if mark.args[0] == "row")


USES = list(uses())
USED = {row.id for _, row in USES}


def test_every_row_is_used_or_listed_with_a_reason() -> None:
    assert sorted(set(ROWS) - USED - set(LISTED)) == []


def test_no_row_is_both_used_and_listed() -> None:
    assert sorted(USED & set(LISTED)) == []


def test_only_rows_that_exist_are_listed_once_with_a_reason() -> None:
    ids = [i for group, reason in UNUSED["row"].items() for i in reason.get("ids", [group])]
    assert sorted(set(ids) - set(ROWS)) == []
    assert len(ids) == len(set(ids))
    assert [i for i, why in LISTED.items() if len(why) < 20] == []
    assert sorted(set(BESIDE) - USED) == []
    assert all(len(part["why"]) >= 20 for part in UNUSED["part"].values())


def test_rows_are_of_the_sections_that_concern_budgets() -> None:
    assert {row.section for row in ROWS.values()} == set(range(1, 8))


@pytest.mark.parametrize(("test", "row"), USES, ids=[f"{test.__name__} {row.id}" for test, row in USES])
def test_another_value_would_be_noticed(test: Callable[[Row], None], row: Row) -> None:
    """Each number of the value is changed by half. What no test holds against the engine is listed as such."""
    unnoticed: set[str] = set()
    for place, value in altered(row.value):
        try:
            test(row._replace(value=value))
        except AssertionError:
            continue
        unnoticed.add(place)
    assert unnoticed == BESIDE.get(row.id, set())


def test_a_value_is_changed_in_every_place() -> None:
    changed: dict[str, Any] = dict(altered({"a": 1, "b": [0.5, "18 ns, x3"]}))
    assert changed == {
        "a": {"a": 2, "b": [0.5, "18 ns, x3"]},
        "b0": {"a": 1, "b": [1.25, "18 ns, x3"]},
        "b1#0": {"a": 1, "b": [0.5, "28 ns, x3"]},
        "b1#1": {"a": 1, "b": [0.5, "18 ns, x5"]},
    }
