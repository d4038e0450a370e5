"""The tiny rulebook, with a text for every key."""

import tomllib
from pathlib import Path

import pytest

from wizard.diagnosis.loading import load_rulebook
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts

TINY = Path(__file__).parent.parent / "rulebooks" / "tiny.toml"


@pytest.fixture(scope="session")
def tiny() -> Rulebook:
    return load_rulebook({"tiny.toml": tomllib.loads(TINY.read_text())})


@pytest.fixture(scope="session")
def tiny_texts(tiny: Rulebook) -> Texts:
    texts = {f"rule.{rule.id}.why": f"because {rule.id}" for rule in tiny.rules}
    for observation in tiny.observations:
        texts |= {f"observation.{observation.id}.{part}": f"{part} {observation.id}" for part in ("text", "why")}
    return Texts("en", texts)
