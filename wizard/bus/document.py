"""The base of every value that is also a document: frozen, and keeping what it does not know.

A reader must accept words from a newer writer, so unknown fields are kept and written out again.
"""

from pydantic import BaseModel, ConfigDict


class Document(BaseModel):
    """A frozen value that reads from and writes to JSON without losing unknown fields."""

    model_config = ConfigDict(frozen=True, extra="allow", populate_by_name=True)
