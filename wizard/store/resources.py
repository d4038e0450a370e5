"""Where the project's own data lie, and how they are read. The only module that knows the place.

In a wheel they are `wizard/_resources`; in an editable install or a checkout, `resources` beside
`wizard`. Knows TOML and nothing of what the rulebook means.
"""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from wizard.bus.errors import RulebookError

_PACKAGE = Path(__file__).resolve().parent.parent
_POSITION = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")


def root() -> Path:
    """The folder that holds `rulebook`, `kinds`, `texts`, `demo`, `icons`, `drawings` and `fonts`."""
    installed = _PACKAGE / "_resources"
    return installed if installed.is_dir() else _PACKAGE.parent / "resources"


def icon(name: str) -> Path:
    """The path of an icon; a name without ending means `.svg`."""
    path = root() / "icons" / name
    return path if path.suffix else path.with_suffix(".svg")


def drawing(name: str) -> Path:
    """The path of a drawing that helps to answer a question; its lines are `currentColor`, to be replaced."""
    return root() / "drawings" / f"{name}.svg"


def drawing_names() -> tuple[str, ...]:
    """Names of all drawings, in order."""
    return tuple(sorted(path.stem for path in (root() / "drawings").glob("*.svg")))


def fonts() -> Path:
    """The folder of the fonts that a printed report is set in."""
    return root() / "fonts"


def rulebook_tables(folder: Path | None = None) -> dict[str, dict[str, Any]]:
    """Parsed TOML by file name, in order of name. Raises RulebookError with every unreadable file."""
    return _read_all(folder or root() / "rulebook")


def kind_tables(folder: Path | None = None) -> dict[str, dict[str, Any]]:
    """The tables of typical devices, as `rulebook_tables` gives those of the rulebook."""
    return _read_all(folder or root() / "kinds")


def texts(language: str, folder: Path | None = None) -> dict[str, str]:
    """All prose of one language by dotted key (`cause.hub_supply.title`).

    Raises RulebookError, with all problems: a language that is not there, a text that is no text, a key
    that two files give.
    """
    home = (folder or root() / "texts") / language
    problems: list[str] = []
    found: dict[str, str] = {}
    origin: dict[str, str] = {}
    for file, table in _read_all(home).items():
        for key, value in _flat(table, ""):
            if not isinstance(value, str):
                problems.append(f"{file}, {key}: a text is expected, not {value!r}")
            elif key in found:
                problems.append(f"{file}, {key}: already given in {origin[key]}")
            else:
                found[key] = value
                origin[key] = file
    if problems:
        raise RulebookError(tuple(problems))
    return found


def read_toml(path: Path) -> dict[str, Any]:
    """One TOML file. Raises RulebookError that names the file and, for a slip of syntax, the line."""
    text = ""
    try:
        text = path.read_text(encoding="utf-8")
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as slip:
        position = _POSITION.search(str(slip))
        line = position[1] if position and position[1] else text.rstrip().count("\n") + 1
        raise RulebookError((f"{path.name}, line {line}: {_POSITION.sub('', str(slip))}",)) from slip
    except UnicodeDecodeError as slip:
        place = slip.object[: slip.start].count(b"\n") + 1
        raise RulebookError((f"{path.name}, line {place}: the text is not UTF-8",)) from slip
    except OSError as failure:
        raise RulebookError((f"{path.name}: it can't be read ({failure.strerror})",)) from failure


def _read_all(folder: Path) -> dict[str, dict[str, Any]]:
    files = sorted(folder.glob("*.toml"))
    if not files:
        raise RulebookError((f"{folder.parent.name}/{folder.name}: there are no TOML files",))
    problems: list[str] = []
    tables: dict[str, dict[str, Any]] = {}
    for file in files:
        try:
            tables[file.name] = read_toml(file)
        except RulebookError as error:
            problems.extend(error.problems)
    if problems:
        raise RulebookError(tuple(problems))
    return tables


def _flat(table: dict[str, Any], prefix: str) -> Iterator[tuple[str, Any]]:
    for key, value in table.items():
        dotted = f"{prefix}{key}"
        if isinstance(value, dict):
            yield from _flat(value, f"{dotted}.")
        else:
            yield dotted, value
