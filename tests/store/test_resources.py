"""Resources are found, flattened, and refused with file and line."""

from pathlib import Path

import pytest

from wizard.bus.errors import RulebookError
from wizard.store import resources


def put(folder: Path, **files: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return folder


def test_the_projects_own_data_are_found() -> None:
    assert (resources.root() / "rulebook").is_dir()


def test_a_wheel_carries_its_data_inside_the_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "wizard"
    (package / "_resources").mkdir(parents=True)
    monkeypatch.setattr(resources, "_PACKAGE", package)
    assert resources.root() == package / "_resources"


def test_an_icon_without_ending_is_a_drawing() -> None:
    assert resources.icon("portmend").name == "portmend.svg"
    assert resources.icon("portmend.png").name == "portmend.png"


def test_tables_come_by_file_name(tmp_path: Path) -> None:
    folder = put(tmp_path / "rulebook", b="[[rule]]\nid='x'", a="n = 1")
    assert resources.rulebook_tables(folder) == {"a.toml": {"n": 1}, "b.toml": {"rule": [{"id": "x"}]}}


def test_nested_tables_become_dotted_keys(tmp_path: Path) -> None:
    put(tmp_path / "en", causes="[cause.hub_supply]\ntitle = 'T'\n[cause.hub_supply.deep]\nwords = 'W'")
    assert resources.texts("en", tmp_path) == {"cause.hub_supply.title": "T", "cause.hub_supply.deep.words": "W"}


def test_a_slip_of_syntax_names_file_and_line(tmp_path: Path) -> None:
    folder = put(tmp_path / "rulebook", rules="ok = 1\nthis is not TOML\n", more="also = not\n", fine="x = 1\n")
    with pytest.raises(RulebookError) as caught:
        resources.rulebook_tables(folder)
    first, second = caught.value.problems
    assert first.startswith("more.toml, line 1: ")
    assert second.startswith("rules.toml, line 2: ")
    assert "column" not in second


def test_a_file_that_is_no_text_names_file_and_line(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_bytes(b"a = 1\nb = '\xff'\n")
    with pytest.raises(RulebookError, match=r"bad\.toml, line 2: the text is not UTF-8"):
        resources.read_toml(tmp_path / "bad.toml")


def test_a_file_that_is_gone_is_named(tmp_path: Path) -> None:
    with pytest.raises(RulebookError, match=r"gone\.toml: it can't be read"):
        resources.read_toml(tmp_path / "gone.toml")


def test_a_language_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(RulebookError, match="there are no TOML files"):
        resources.texts("xx", tmp_path)


def test_all_problems_of_texts_are_told_at_once(tmp_path: Path) -> None:
    put(tmp_path / "en", a="[step.x]\ndo = 1\n[step.y]\ndo = 'first'", b="[step.y]\ndo = 'second'")
    with pytest.raises(RulebookError) as caught:
        resources.texts("en", tmp_path)
    assert caught.value.problems == (
        "a.toml, step.x.do: a text is expected, not 1",
        "b.toml, step.y.do: already given in a.toml",
    )
