"""The checkout as the house tests see it: its files, its modules, its set-up scripts.

Knows where the checkout's root is and what git would keep of it. Knows nothing of Portmend's own code.
"""

from __future__ import annotations

import importlib
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = ("trouble", "system", "environment", "launcher", "gate", "prepare")


@pytest.fixture(scope="session")
def checkout() -> Path:
    """The root of the checkout."""
    return ROOT


@pytest.fixture(scope="session")
def kept_files(checkout: Path) -> tuple[Path, ...]:
    """Every file that git keeps or would keep, relative to the root; nothing that is ignored."""
    if not (checkout / ".git").exists():
        pytest.skip("an unpacked archive: only git knows which files belong to the project")
    # Whoever owns the clone: nothing but a list of names is asked for.
    asked = ["git", "-c", "safe.directory=*", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(asked, cwd=checkout, capture_output=True, text=True, check=True).stdout
    files = tuple(Path(name) for name in listed.split("\0") if name and (checkout / name).is_file())
    assert files, "git lists no file at all"
    return files


@pytest.fixture(scope="session")
def modules(checkout: Path) -> tuple[Path, ...]:
    """The modules of the program and of the set-up scripts, in full."""
    found = [*(checkout / "wizard").rglob("*.py"), *(checkout / "packaging").glob("*.py")]
    return tuple(sorted(found))


@pytest.fixture
def scripts(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, ModuleType]]:
    """The set-up scripts as modules, imported as `python packaging/prepare.py` would import them."""
    monkeypatch.syspath_prepend(str(checkout / "packaging"))
    yield {name: importlib.import_module(name) for name in SCRIPTS}
    # They are no package of ours: their plain names must not stay behind for other tests.
    for name in SCRIPTS:
        sys.modules.pop(name, None)
