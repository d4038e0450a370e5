"""The shape of the house: what stands at the top, how long a module is, what it must say about itself."""

from __future__ import annotations

import ast
import re
import statistics
import tokenize
from pathlib import Path

TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "wizard", "resources", "tests", "packaging"}
LONGEST = 400
MEDIAN = 120


def test_the_top_level_is_exactly_the_design_cards(kept_files: tuple[Path, ...]) -> None:
    top = {path.parts[0] for path in kept_files if not path.parts[0].startswith(".")}
    assert top == TOP_LEVEL


def test_packaging_is_no_package_since_it_would_hide_the_library_of_that_name(checkout: Path) -> None:
    assert not (checkout / "packaging" / "__init__.py").exists()
    import packaging.version

    assert checkout not in Path(packaging.version.__file__).parents or ".venv" in packaging.version.__file__


def test_no_module_is_longer_than_the_house_allows(modules: tuple[Path, ...]) -> None:
    lengths = {path.name: len(path.read_text("utf-8").splitlines()) for path in modules}
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST} == {}


def test_the_median_module_stays_short(modules: tuple[Path, ...]) -> None:
    lengths = [len(path.read_text("utf-8").splitlines()) for path in modules if path.name != "__init__.py"]
    assert statistics.median(lengths) <= MEDIAN


def test_every_module_opens_by_saying_what_it_knows(modules: tuple[Path, ...], checkout: Path) -> None:
    silent = [
        str(path.relative_to(checkout)) for path in modules if not ast.get_docstring(ast.parse(path.read_text("utf-8")))
    ]
    assert silent == []


def test_every_suppression_names_its_code_and_its_reason(modules: tuple[Path, ...], checkout: Path) -> None:
    tests = tuple((checkout / "tests").rglob("*.py"))
    bare = [
        f"{path.relative_to(checkout)}:{line}: {comment}"
        for path in modules + tests
        for line, comment in comments(path)
        if not is_explained(comment)
    ]
    assert bare == []


def test_a_suppression_without_reason_would_be_caught() -> None:
    assert not is_explained("# type: ignore")
    assert not is_explained("# type: ignore[misc]")
    assert not is_explained("# noqa")
    assert not is_explained("# noqa: N802")
    assert is_explained("# type: ignore[misc]  # the library's stubs lack this argument")
    assert is_explained("# noqa: N802 - Qt calls it by this name")
    assert is_explained("# why, and nothing suppressed")


def comments(path: Path) -> list[tuple[int, str]]:
    """Every comment of a module with its line number."""
    with path.open("rb") as source:
        tokens = tokenize.tokenize(source.readline)
        return [(token.start[0], token.string) for token in tokens if token.type == tokenize.COMMENT]


def is_explained(comment: str) -> bool:
    """Whether a comment suppresses nothing, or does so with a code and some words of reason."""
    if not re.search(r"#\s*(type:\s*ignore|noqa|pragma:)", comment):
        return True
    explained = r"#\s*(type:\s*ignore\[[\w,\s-]+\]|noqa:\s*[A-Z]+\d+(,\s*[A-Z]+\d+)*|pragma: no cover)\W+\w.{8,}"
    return re.search(explained, comment) is not None
