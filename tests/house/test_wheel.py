"""The wheel: what a person installs holds the resources and the licence, and runs from there."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def wheel(checkout: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from the checkout with the locked builder."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    built = subprocess.run(command, cwd=checkout, capture_output=True, text=True, check=False)
    assert built.returncode == 0, built.stderr
    return next(folder.glob("*.whl"))


def test_every_resource_reaches_the_wheel(wheel: Path, kept_files: tuple[Path, ...]) -> None:
    inside = set(zipfile.ZipFile(wheel).namelist())
    resources = [path.relative_to("resources") for path in kept_files if path.parts[0] == "resources"]
    assert resources
    assert [str(path) for path in resources if f"wizard/_resources/{path.as_posix()}" not in inside] == []


def test_every_module_reaches_the_wheel_and_nothing_else_does(wheel: Path, kept_files: tuple[Path, ...]) -> None:
    inside = {name for name in zipfile.ZipFile(wheel).namelist() if name.endswith(".py")}
    assert inside == {path.as_posix() for path in kept_files if path.parts[0] == "wizard" and path.suffix == ".py"}


def test_the_licence_goes_along(wheel: Path, checkout: Path) -> None:
    archive = zipfile.ZipFile(wheel)
    texts = [archive.read(name) for name in archive.namelist() if name.endswith("LICENSE.txt")]
    ours, fonts = checkout / "packaging" / "LICENSE.txt", checkout / "resources" / "fonts" / "LICENSE.txt"
    assert {ours.read_bytes(), fonts.read_bytes()} <= set(texts)


def test_the_licence_is_apache_2_0_in_full(checkout: Path) -> None:
    text = (checkout / "packaging" / "LICENSE.txt").read_text("utf-8")
    assert "Version 2.0, January 2004" in text
    assert "END OF TERMS AND CONDITIONS" in text


def test_the_program_runs_from_the_wheel_and_finds_its_resources(wheel: Path, tmp_path: Path) -> None:
    zipfile.ZipFile(wheel).extractall(tmp_path)
    code = "import wizard, wizard.store.resources as r; print(wizard.__file__); print(r.root())"
    # The folder that holds the wheel's content comes first, so the checkout is not what is imported.
    command = [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(tmp_path)!r}); {code}"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == [
        str(tmp_path / "wizard" / "__init__.py"),
        str(tmp_path / "wizard" / "_resources"),
    ]
