"""The shapes a report is made of: sections of paragraphs, lists, tables and titled parts.

Every string may hold foreign text as it came; a renderer cleans and escapes all of them, so nobody
before it has to remember to.
"""

from dataclasses import dataclass
from typing import Literal

Tone = Literal["plain", "quiet", "good", "warning"]
"""How a thing is set off. Whoever shows it never says by tone alone what the words do not say."""


@dataclass(frozen=True)
class Para:
    """One paragraph; a `label` stands before it ("Undo", "Careful")."""

    text: str
    label: str = ""
    tone: Tone = "plain"


@dataclass(frozen=True)
class Item:
    """One line of a list, `depth` levels in."""

    text: str
    depth: int = 0
    tone: Tone = "plain"


@dataclass(frozen=True)
class Listing:
    """Lines below one another, some of them deeper."""

    items: tuple[Item, ...]


@dataclass(frozen=True)
class Row:
    """One row of a table: as many cells as its head. `rest` says the cells after the third in one phrase, for where
    there is no room for columns."""

    cells: tuple[str, ...]
    tone: Tone = "plain"
    rest: str = ""


@dataclass(frozen=True)
class Table:
    """Rows under a head."""

    head: tuple[str, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class Part:
    """A titled part of a section: one finding, one step."""

    title: str
    blocks: tuple[Para | Listing | Table, ...]


Block = Para | Listing | Table | Part


@dataclass(frozen=True)
class Section:
    """One chapter. `id` is a word of ours, the same in every report."""

    id: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Material:
    """A whole report: its title, a line below it, and the chapters in order."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]

    def section(self, wanted: str) -> Section | None:
        """The chapter with that id, if the report has it."""
        return next((s for s in self.sections if s.id == wanted), None)
