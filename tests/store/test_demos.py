"""Demos load whole; a broken one says where."""

import json
from pathlib import Path

import pytest

from wizard.bus.errors import BadInputError, RulebookError
from wizard.store import demos

SCENARIO = """
title = "A quiet booth"
story = "An invented story."
symptom = "dropout"
subject = ["1-4"]
outcome = "gone"
fix = "The sound interface was moved to another socket."
[answers]
when = ["stream_start"]
[setup.supplies_ma]
"1-4" = 2000
"""


def demo_folder(tmp_path: Path, scenario: str = SCENARIO, before: str = '{"devices": [{"id": "1-4"}]}') -> Path:
    home = tmp_path / "booth"
    home.mkdir()
    (home / "scenario.toml").write_text(scenario)
    (home / "before.json").write_text(before)
    (home / "after.json").write_text(json.dumps({"devices": [{"id": "2-1"}]}))
    return tmp_path


def test_a_demo_carries_its_story_and_both_looks(tmp_path: Path) -> None:
    folder = demo_folder(tmp_path)
    assert demos.demo_names(folder) == ("booth",)
    demo = demos.load_demo("booth", folder)
    assert demo.name == "booth"
    assert demo.answers == {"when": ["stream_start"]}
    assert demo.setup.supplies_ma == {"1-4": 2000}
    assert [d.id for d in demo.before.devices] == ["1-4"]
    assert [d.id for d in demo.after.devices] == ["2-1"]


def test_an_unknown_name_lists_the_known_ones(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="These are there: booth"):
        demos.load_demo("../booth", demo_folder(tmp_path))


def test_a_broken_scenario_names_the_line(tmp_path: Path) -> None:
    with pytest.raises(RulebookError, match=r"demo booth, scenario\.toml, line 2"):
        demos.load_demo("booth", demo_folder(tmp_path, "title = 'x'\nbroken"))


def test_a_broken_look_names_the_file(tmp_path: Path) -> None:
    with pytest.raises(RulebookError, match=r"demo booth, before\.json: it is not JSON"):
        demos.load_demo("booth", demo_folder(tmp_path, before="{"))


def test_a_missing_field_is_named(tmp_path: Path) -> None:
    with pytest.raises(RulebookError, match="demo booth, fix: Field required"):
        demos.load_demo("booth", demo_folder(tmp_path, SCENARIO.replace("fix =", "fixed =")))


@pytest.mark.parametrize("name", demos.demo_names())
def test_every_demo_of_ours_loads(name: str) -> None:
    demo = demos.load_demo(name)
    known = {device.id for device in demo.before.devices}
    assert set(demo.subject) <= known
