"""What a command says and to whom: people read standard output and notes, programs read one document.

Everything goes through here, so that no string of a device or file reaches the terminal raw, and so that
a test can read and answer in a person's place.
"""

import json
import os
import shutil
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TextIO

from pydantic import BaseModel

from wizard.bus.errors import BadInputError
from wizard.report.blocks import Block, Section
from wizard.report.clean import one_line
from wizard.report.text import numbered, render_blocks, render_section

_WIDEST = 110
"""Columns beyond which lines are hard to read: common practice (no source)."""


@dataclass(frozen=True)
class Screen:
    """Standard output and error, a way to ask, and how many columns there are.

    `ask` shows a prompt and returns the line typed; EOFError means that nobody answers any more.
    """

    out: TextIO
    err: TextIO
    ask: Callable[[str], str]
    width: int

    def say(self, text: str = "") -> None:
        """One line for a person."""
        self._write(f"{one_line(text)}\n")

    def blocks(self, *blocks: Block) -> None:
        """Paragraphs, lists and tables for a person."""
        self._write("\n".join([*render_blocks(blocks, self.width), ""]))

    def options(self, options: Sequence[str]) -> None:
        """Numbered things to choose from."""
        self._write("".join(f"{line}\n" for line in numbered(options, self.width)))

    def section(self, section: Section) -> None:
        """A chapter for a person, and a line's space."""
        self._write(f"{render_section(section, self.width)}\n")

    def document(self, value: BaseModel | dict[str, Any]) -> None:
        """One JSON document for a program: ASCII only, so that it arrives whole on any console."""
        plain = value.model_dump(mode="json", by_alias=True) if isinstance(value, BaseModel) else value
        self._write(f"{json.dumps(plain, indent=1)}\n")

    def note(self, text: str) -> None:
        """One line on standard error."""
        self.err.write(f"{one_line(text)}\n")
        self.err.flush()

    def flush(self) -> None:
        """Hand over what was said. Raises as `say` does."""
        self._write("")
        self._guarded(self.out.flush)

    def _write(self, text: str) -> None:
        self._guarded(lambda: self.out.write(text))

    def _guarded(self, write: Callable[[], object]) -> None:
        try:
            write()
        except BrokenPipeError:
            raise
        except OSError as failure:
            raise BadInputError(
                "standard output", f"it can't be written ({failure.strerror})", "Send the output somewhere else."
            ) from failure


def real_screen() -> Screen:
    """The terminal or pipes this process was started with."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            # A console that lacks a letter shows its number; nothing stops for that.
            stream.reconfigure(errors="backslashreplace")
    width = min(shutil.get_terminal_size().columns, _WIDEST)
    # A process started without a console has no streams at all.
    return Screen(sys.stdout or _nowhere(), sys.stderr or _nowhere(), _ask, width)


def _nowhere() -> TextIO:
    return Path(os.devnull).open("w", encoding="utf-8")


def _ask(prompt: str) -> str:
    return input(one_line(prompt))


def is_terminal() -> bool:
    """Whether a person can both read and answer."""
    return all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout))
