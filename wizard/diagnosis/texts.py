"""The prose of one language, by key. The engine speaks in keys; whoever shows them asks here.

Keys are dotted: `cause.hub_supply.title`, `observation.when.text`, `rule.hub_over.why`,
`step.use_other_socket.do`, `caution.eject_drive.text`.
"""

from collections.abc import Mapping


class Texts:
    """Prose by dotted key."""

    def __init__(self, language: str, texts: Mapping[str, str]) -> None:
        self.language = language
        self._texts = dict(texts)

    def get(self, key: str) -> str | None:
        """The text, or None if this language has none."""
        return self._texts.get(key)

    def __getitem__(self, key: str) -> str:
        """The text. Raises KeyError for a missing one: the linter keeps that from happening."""
        return self._texts[key]

    def keys(self) -> frozenset[str]:
        """All keys there are."""
        return frozenset(self._texts)
