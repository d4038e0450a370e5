"""The one gate: every check that a change must pass, in the order that fails fastest.

Knows the list and how to run it. Does not know what the checks hold: that is in pyproject.toml and tests/.
pytest comes last, so that its closing line ends the output.
"""

from __future__ import annotations

import subprocess
from typing import TYPE_CHECKING

from environment import clean_variables
from trouble import say

if TYPE_CHECKING:
    from environment import Home

CHECKS = (
    ("the layout of the code", ("ruff", "format", "--check", "--quiet", ".")),
    ("the style of the code", ("ruff", "check", "--quiet", ".")),
    ("the types", ("mypy",)),
    ("the types of these scripts", ("mypy", "packaging/prepare.py")),
    ("the staircase of layers", ("lint-imports",)),
)


def run(home: Home) -> int:
    """Run all checks, then all tests; 0 only if everything passed."""
    variables = {**clean_variables(), "QT_QPA_PLATFORM": "offscreen"}
    failed = []
    for title, (tool, *arguments) in CHECKS:
        say(f"checking {title} ({tool})")
        command = [str(home.script(tool)), *arguments]
        done = subprocess.run(
            command,
            cwd=home.checkout,
            env=variables,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
        )
        if done.returncode != 0:
            print(done.stdout, flush=True)
            failed.append(title)
    say("running the tests (pytest)")
    command = [str(home.script("python")), "-m", "pytest", "-q", "-n", "auto", "--dist", "worksteal"]
    tests = subprocess.run(command, cwd=home.checkout, env=variables, stdin=subprocess.DEVNULL, check=False)
    if failed:
        say(f"these checks failed: {'; '.join(failed)}")
    return tests.returncode or int(bool(failed))
