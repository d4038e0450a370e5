"""What must not be in any file: hosts of package indexes, paths of somebody's machine, unfinished work.

The words are put together from pieces here, so that this file is not its own finding.
"""

from __future__ import annotations

import re
from pathlib import Path

HOSTS = ("pypi" + ".org", "python" + "hosted.org", "npm" + "js.org", "deb." + "debian.org", "crates" + ".io")
MACHINE = (
    r"(?<![\w.])/" + r"(work|root)/",
    r"\.\./" + "shared",
    r"(?<![\w.])/" + r"tmp/",
)
UNFINISHED = (r"\bTO" + r"DO\b", r"\bFIX" + r"ME\b", r"\bXX" + r"X\b")
# Captured trees of hardware are kept byte for byte; what they name is theirs.
UNTOUCHED = Path("tests/reference")


def findings(patterns: tuple[str, ...], files: tuple[Path, ...], checkout: Path) -> list[str]:
    """`file:line: match` for every place where one of PATTERNS stands in a text file."""
    one = re.compile("|".join(patterns))
    found = []
    for path in files:
        if UNTOUCHED in path.parents:
            continue
        try:
            text = (checkout / path).read_text("utf-8")
        except UnicodeDecodeError:
            continue
        for number, line in enumerate(text.splitlines(), 1):
            if match := one.search(line):
                found.append(f"{path}:{number}: {match.group()}")
    return found


def test_no_file_names_a_package_index(kept_files: tuple[Path, ...], checkout: Path) -> None:
    assert findings(tuple(re.escape(host) for host in HOSTS), kept_files, checkout) == []


def test_no_file_names_a_path_of_one_machine(kept_files: tuple[Path, ...], checkout: Path) -> None:
    assert findings(MACHINE, kept_files, checkout) == []


def test_no_file_promises_work_for_later(kept_files: tuple[Path, ...], checkout: Path) -> None:
    assert findings(UNFINISHED, kept_files, checkout) == []


def test_a_word_that_must_not_be_there_is_found(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("fine\nsee /" + "work/main\n", "utf-8")
    assert findings(MACHINE, (Path("a.txt"),), tmp_path) == ["a.txt:2: /" + "work/"]
