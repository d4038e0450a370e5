"""What is found beside the steps, taken into the session: a watch, a measurement, a set-up described by hand.

Knows no Qt. What the user said himself stands; a measurement only fills what is open.
"""

from collections.abc import Mapping
from dataclasses import replace

from wizard.budget.setup import Setup
from wizard.case.documents import Look
from wizard.case.model import Case, Value
from wizard.desktop.engine import Engine
from wizard.desktop.flow import changed
from wizard.desktop.session import Session, Source
from wizard.diagnosis.rulebook import UNKNOWN


def is_of_this_pc(session: Session) -> bool:
    """Whether what this computer shows says anything of the case: not for a demo, a capture or another PC's case."""
    return session.case is not None and session.demo is None and session.case.source in (None, "live")


def take_observations(session: Session, found: Mapping[str, Value]) -> Session:
    """The session with what was measured, where nothing was known."""
    if session.case is None:
        return session
    known = session.case.observations
    new = {k: v for k, v in found.items() if v != UNKNOWN and known.get(k, UNKNOWN) == UNKNOWN}
    if not new:
        return session
    return changed(session, session.case.model_copy(update={"observations": {**known, **new}}))


def take_case(session: Session, case: Case) -> Session:
    """The session with a case to which something was added off to the side."""
    return session if session.case == case else changed(session, case)


def take_described(session: Session, engine: Engine, setup: Setup, look: Look) -> Session:
    """The session with a set-up described by hand in place of a look: another desk, so what was told of the one
    before is dropped, as it is for any other machine."""
    ticked = session.users_ticks
    fresh = engine.new_case(ticked[0], ticked[1:], look, "described").model_copy(update={"setup": setup})
    same = session.source is not None and session.source.kind == "described"
    if same and session.case is not None:
        there = {d.id for d in look.snapshot.devices}
        kept = tuple(s for s in session.case.subject if s in there)
        fresh = session.case.model_copy(
            update={"snapshot": look.snapshot, "setup": setup, "subject": kept, "source": "described"}
        )
    return replace(
        changed(session, fresh),
        page="look",
        reached="look",
        aside=None,
        ticked=ticked,
        own_ticks=(),
        source=Source("described"),
        look=look,
        looks=session.looks + 1,
        demo=None,
        remembered=session.remembered if same else {},
        after=None,
        outcome=None,
        comparison=None,
        other_machine=False,
        line=session.line if same else session.line + 1,
        path=session.path if same else None,
    )
