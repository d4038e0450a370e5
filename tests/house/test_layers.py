"""The staircase of layers: the contract in pyproject.toml holds, and it bites when it is broken."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

# module -> a line that must not stand there
BREACHES = {
    "bus/model.py": "from wizard.budget import entry",
    "budget/entry.py": "import os",
    "plan/steps.py": "import time",
    "case/model.py": "from wizard.store import resources",
    "observe/seen.py": "from wizard.case import model",
    "wiring/looking.py": "import PySide6.QtCore",
    "desktop/flow.py": "import PySide6.QtCore",
}


def contract(folder: Path) -> subprocess.CompletedProcess[str]:
    """What the import contract says about the code in FOLDER."""
    command = [
        sys.executable,
        "-c",
        "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_logo=True))",
    ]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


@pytest.fixture
def copy(checkout: Path, tmp_path: Path) -> Path:
    """A copy of the code that may be spoilt."""
    shutil.copytree(checkout / "wizard", tmp_path / "wizard", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(checkout / "pyproject.toml", tmp_path)
    return tmp_path


def test_the_contract_holds(copy: Path) -> None:
    answer = contract(copy)
    assert answer.returncode == 0, answer.stdout + answer.stderr


@pytest.mark.slow
@pytest.mark.parametrize(("module", "line"), BREACHES.items())
def test_a_step_up_the_staircase_is_refused(copy: Path, module: str, line: str) -> None:
    path = copy / "wizard" / module
    path.write_text(f'"""Spoilt."""\n{line}\n', "utf-8")
    answer = contract(copy)
    assert answer.returncode == 1, answer.stdout + answer.stderr
    assert "BROKEN" in answer.stdout


@pytest.mark.slow
def test_one_page_may_not_import_another(copy: Path) -> None:
    pages = sorted(path for path in (copy / "wizard/desktop/pages").glob("*.py") if path.stem != "__init__")
    first, second = pages[:2]
    first.write_text(f'"""Spoilt."""\nfrom wizard.desktop.pages import {second.stem}\n', "utf-8")
    answer = contract(copy)
    assert answer.returncode == 1, answer.stdout + answer.stderr
