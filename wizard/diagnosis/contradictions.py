"""Contradictions put into words: what does not agree, why, and the question to put once more.

Which answers clash is data (`clashes`). A question that was put again is not put a third time, whatever
came of it; whoever asks keeps the ids of the clashes that were settled and passes them in.
"""

from collections.abc import Collection

from wizard.diagnosis.advice import Contradiction
from wizard.diagnosis.clashes import clashing, told
from wizard.diagnosis.facts import Facts
from wizard.diagnosis.questions import make_question
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts


def contradictions(
    rulebook: Rulebook, texts: Texts, facts: Facts, settled: Collection[str] = ()
) -> tuple[Contradiction, ...]:
    """What does not agree in this case, in the order of the rulebook. `settled` are ids of clashes asked about."""
    found = []
    for clash in clashing(rulebook, facts):
        why = texts[f"clash.{clash.id}.why"]
        doubtful = told(clash, facts)
        question = make_question(rulebook.observation_by_id[doubtful[0]], texts)
        again = question.model_copy(update={"id": f"again_{question.observation}", "why": why})
        found.append(
            Contradiction(
                id=clash.id,
                observations=clash.observations(),
                why=why,
                question=again,
                settled=clash.id in settled,
            )
        )
    return tuple(found)
