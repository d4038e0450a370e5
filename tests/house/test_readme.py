"""README and the yard: what the README tells people to type is what CI types, and its picture is there."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

TEST_COMMAND = "python3 packaging/prepare.py test"
RUN_COMMAND = "python3 packaging/prepare.py run"
LARGEST_PICTURE = 200_000  # bytes; our own limit, so that a clone stays small


@pytest.fixture(scope="session")
def readme(checkout: Path) -> str:
    """The README's text."""
    return (checkout / "README.md").read_text("utf-8")


def test_the_job_stands_first(readme: str) -> None:
    title, paragraph, *_ = re.split(r"\n\s*\n", readme)
    assert title == "# Portmend"
    assert not paragraph.startswith(("#", "!", "`", "-"))


def test_the_two_commands_are_there(readme: str) -> None:
    assert readme.index(RUN_COMMAND) < readme.index(TEST_COMMAND)


def test_ci_types_the_readmes_test_command(checkout: Path) -> None:
    script = checkout / ".ci" / "run"
    assert TEST_COMMAND in script.read_text("utf-8")
    if os.name == "posix":
        assert os.access(script, os.X_OK)


def test_every_picture_and_file_it_names_is_there(checkout: Path) -> None:
    for name in ("README.md", "DEVELOPERS.md"):
        text = (checkout / name).read_text("utf-8")
        targets = re.findall(r"\]\(([^)#:]+)\)", text)
        assert [target for target in targets if not (checkout / target).exists()] == []


def test_the_screenshot_is_there_and_small(readme: str, checkout: Path) -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+\.png)\)", readme)
    assert pictures
    for picture in pictures:
        content = (checkout / picture).read_bytes()
        assert content.startswith(b"\x89PNG")
        assert len(content) < LARGEST_PICTURE
