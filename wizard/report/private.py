"""Secrets learnt from texts, and texts without them. Knows no document.

The same secret gets the same word everywhere (`serial-1`), so a reader still sees that two places mean
one device.
"""

import re
from collections.abc import Iterable
from functools import partial

from wizard.report.private_forms import FORMS, NO_SECRETS, PLACE, ROOT_HUB, Kind

_SHORTEST: dict[Kind, int] = {"serials": 5, "names": 3}
"""Shorter secrets go only where they stand, not wherever the same letters appear: common practice (no source)."""

_MOST_EVERYWHERE = 500
"""So many secrets are looked for everywhere; the rest go where their form betrays them. Keeps a log made of
nothing but serial numbers from taking minutes: common practice (no source)."""


class Secrets:
    """Collects secrets first, then takes them out of any text. `keep` names kinds that may stay; `protected`
    are words that must stay whatever they look like."""

    def __init__(self, keep: frozenset[str], protected: Iterable[str] = ()) -> None:
        self._keep = keep
        self._protected = frozenset(protected)
        self._words: dict[str, str] = {}
        self._issued: set[str] = set()
        self._counts: dict[str, int] = {}
        self._everywhere: list[str] = []
        self._pattern: re.Pattern[str] | None = None

    def word_for(self, kind: Kind, role: str, secret: str) -> str:
        """The word that stands for a secret; the text itself if its kind may stay or it is no secret."""
        if kind in self._keep or not self._is_secret(secret):
            return secret
        if secret not in self._words:
            self._counts[role] = self._counts.get(role, 0) + 1
            word = f"{role}-{self._counts[role]}"
            self._words[secret] = word
            self._issued.add(word)
            telling = len(secret) >= _SHORTEST[kind] and len(set(secret)) > 1
            if telling and len(self._everywhere) < _MOST_EVERYWHERE:
                self._everywhere.append(secret)
                self._pattern = None
        return self._words[secret]

    def out_of(self, text: str) -> str:
        """The text without secrets: those of a telling form, which are learnt, and all that were learnt before."""
        for form in FORMS:
            if form.kind not in self._keep:
                text = form.pattern.sub(partial(self._replaced, form.kind, form.role), text)
        pattern = self._known()
        return pattern.sub(lambda found: self._words[found[0]], text) if pattern is not None else text

    def _replaced(self, kind: Kind, role: str, found: re.Match[str]) -> str:
        if ROOT_HUB.search(found.string, max(0, found.start() - 40), found.start()):
            return found[0]
        start, end = (place - found.start() for place in found.span("secret"))
        return f"{found[0][:start]}{self.word_for(kind, role, found['secret'])}{found[0][end:]}"

    def _is_secret(self, text: str) -> bool:
        plain = text.strip()
        no_secret = plain.lower() in NO_SECRETS or plain in self._protected or plain in self._issued
        return bool(plain) and not no_secret and PLACE.fullmatch(plain) is None

    def _known(self) -> re.Pattern[str] | None:
        if self._pattern is None and self._everywhere:
            longest_first = sorted(self._everywhere, key=len, reverse=True)
            joined = "|".join(re.escape(secret) for secret in longest_first)
            self._pattern = re.compile(rf"(?<![A-Za-z0-9])(?:{joined})(?![A-Za-z0-9])")
        return self._pattern
