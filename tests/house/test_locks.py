"""The lock files: complete, with hashes, from nowhere in particular, and true to pyproject.toml."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

RUN = "requirements.lock"
DEV = "requirements-dev.lock"


@pytest.fixture(scope="session")
def project(checkout: Path) -> dict[str, Any]:
    """pyproject.toml as data."""
    return tomllib.loads((checkout / "pyproject.toml").read_text("utf-8"))


def pins(checkout: Path, lock: str) -> dict[str, dict[str, int]]:
    """Package -> its pinned versions (more than one where Pythons differ) -> how many hashes stand by each."""
    text = (checkout / "packaging" / lock).read_text("utf-8").replace("\\\n", " ")
    found: dict[str, dict[str, int]] = {}
    for line in text.splitlines():
        match = re.match(r"([\w.-]+)==([\w.]+)", line)
        assert match, f"{lock}: not a pin: {line}"
        versions = found.setdefault(canonicalize_name(match[1]), {})
        assert not versions or ";" in line, f"{lock}: {match[1]} is pinned twice for the same Python"
        versions[match[2]] = line.count("--hash=sha256:")
    return found


@pytest.mark.parametrize("lock", [RUN, DEV])
def test_every_pin_has_its_hashes(checkout: Path, lock: str) -> None:
    assert [name for name, versions in pins(checkout, lock).items() if not all(versions.values())] == []


@pytest.mark.parametrize("lock", [RUN, DEV])
def test_a_lock_says_nothing_about_where_from(checkout: Path, lock: str) -> None:
    text = (checkout / "packaging" / lock).read_text("utf-8")
    assert "://" not in text
    assert "-url" not in text
    assert "find-links" not in text


def test_the_lock_for_tests_holds_all_that_runs_and_the_same_versions(checkout: Path) -> None:
    run, dev = pins(checkout, RUN), pins(checkout, DEV)
    assert {name: dev.get(name) for name in run} == run


@pytest.mark.parametrize(
    ("lock", "wanted"), [(RUN, ("project",)), (RUN, ("build",)), (RUN, ("setup",)), (DEV, ("dev",))]
)
def test_what_the_project_asks_for_is_locked_in_a_version_it_accepts(
    checkout: Path, project: dict[str, Any], lock: str, wanted: tuple[str]
) -> None:
    asked = {
        "project": project["project"]["dependencies"],
        "build": project["build-system"]["requires"],
        "setup": project["dependency-groups"]["setup"],
        "dev": project["project"]["optional-dependencies"]["dev"],
    }[wanted[0]]
    locked = pins(checkout, lock)
    for requirement in map(Requirement, asked):
        for version in locked[canonicalize_name(requirement.name)]:
            assert requirement.specifier.contains(version), f"{lock}: {requirement} against {version}"


@pytest.mark.parametrize(
    "name", ["pydantic-core", "libusb-package", "pyside6-essentials", "shiboken6", "numpy", "highspy"]
)
def test_compiled_libraries_are_locked_for_more_than_one_system(checkout: Path, name: str) -> None:
    # One wheel each for Linux on x86-64 and on ARM, for Windows and for macOS is the least.
    assert min(pins(checkout, RUN)[name].values()) >= 4
