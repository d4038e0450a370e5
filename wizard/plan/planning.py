"""The plan of one case: remedies in order, made out in prose with figures and cautions.

Knows neither window nor report. Never empty: where nothing is left to try, the last resort is.
"""

from collections.abc import Iterable, Mapping

from wizard.budget.entry import Entry
from wizard.diagnosis.advice import Finding
from wizard.diagnosis.facts import Facts
from wizard.diagnosis.texts import Texts
from wizard.plan.cautions import cautions_in, is_out_of_reach, touches_in
from wizard.plan.numbers import COMMAND_GAPS, fill_gaps, greatest_user, reason_entry, reason_sentence, specification
from wizard.plan.ordering import first_remedy, order_remedies, tried
from wizard.plan.present import EITHER
from wizard.plan.steps import Caution, CautionId, Plan, Remedy, Step, Touch

_SEEN = ((("cures", "works"), "proven"), (("helps",), "helped"), (("same", "fails"), "again"))


def make_plan(
    remedies: Iterable[Remedy],
    texts: Texts,
    facts: Facts,
    findings: Iterable[Finding],
    platform: str | None = None,
    marks: Mapping[str, str] | None = None,
    names: Mapping[str, str] | None = None,
    present: frozenset[Touch] = EITHER,
) -> Plan:
    """The steps to try, in order. `platform` chooses the words where places differ by system; `marks` says by step
    id what became of it (`done`, `helped`, `did_not_help`, `skipped`); `names` are what devices are called, by id;
    `present` is what may hang on the bus (`wizard.plan.present.may_hang`)."""
    ordered = order_remedies(remedies, _shares(findings), facts, platform, marks)
    known = specification(facts)
    return Plan(steps=tuple(_step(r, texts, facts, platform, known, names or {}, present) for r in ordered))


def first_step(
    remedies: Iterable[Remedy],
    facts: Facts,
    shares: Mapping[str, float],
    platform: str | None = None,
    marks: Mapping[str, str] | None = None,
) -> str | None:
    """The id of the step a plan would begin with under these shares (cause → share); cheap enough for every answer."""
    return first_remedy(remedies, shares, facts, platform, marks)


def _shares(findings: Iterable[Finding]) -> dict[str, float]:
    return {finding.id: finding.share for finding in findings}


def _step(
    remedy: Remedy,
    texts: Texts,
    facts: Facts,
    platform: str | None,
    known: Mapping[str, str],
    names: Mapping[str, str],
    present: frozenset[Touch],
) -> Step:
    entry = reason_entry(remedy.cures, facts.ledger)
    biggest = greatest_user(entry) if entry is not None else None
    subject = _subject(remedy, facts, names)
    figures = {
        **known,
        **({} if biggest is None else {"biggest": _called(biggest, names)}),
        **({} if subject is None else {"subject": _called(subject, names)}),
    }
    return Step(
        id=remedy.id,
        do=_do(remedy, texts, platform, figures),
        why=_why(remedy, texts, facts, entry, names),
        cures=(*remedy.cures, *remedy.may_cure),
        effort_min=remedy.effort_min,
        spend=remedy.spend,
        opens_case=remedy.opens_case,
        touches=touches_in(remedy, facts, present),
        risk=remedy.risk,
        cautions=tuple(
            Caution(id=c, text=_warning(c, remedy, texts, facts)) for c in cautions_in(remedy, facts, present)
        ),
        undo=_said(remedy, "undo", texts, platform, figures),
        check=_said(remedy, "check", texts, platform, figures),
    )


def _called(device: str, names: Mapping[str, str]) -> str:
    return f"{names[device]} ({device})" if device in names else device


def _subject(remedy: Remedy, facts: Facts, names: Mapping[str, str]) -> str | None:
    """What a step is done to: what misbehaves; where nobody said, what uses most of the overdrawn place it relieves."""
    if facts.subject and (facts.subject[0] in names or "device" in specification(facts)):
        return facts.subject[0]
    over = tuple(e for e in facts.ledger if e.state == "over")
    entry = reason_entry((*remedy.cures, *remedy.may_cure), over)
    user = greatest_user(entry) if entry is not None else None
    return user if user in names else None


def _warning(caution: CautionId, remedy: Remedy, texts: Texts, facts: Facts) -> str:
    """A warning in full; of a drive that does not show nobody can copy first."""
    unseen = caution == "copy_first" and is_out_of_reach(remedy, facts)
    return (
        (texts.get("caution.copy_first.unseen") if unseen else None) or texts.get(f"caution.{caution}.text") or caution
    )


def _do(remedy: Remedy, texts: Texts, platform: str | None, figures: Mapping[str, str]) -> str:
    """The instruction, with the specification where the figures are known and a rule of thumb where not."""
    wanted = texts.get(f"step.{remedy.id}.need")
    need = (fill_gaps(wanted, figures) if wanted else None) or texts.get(f"step.{remedy.id}.need_general") or ""
    more = fill_gaps(texts.get(f"step.{remedy.id}.need_more") or "", figures) or ""
    return " ".join(part for part in (_said(remedy, "do", texts, platform, figures), need, more) if part)


def _said(remedy: Remedy, part: str, texts: Texts, platform: str | None, figures: Mapping[str, str]) -> str:
    """A text in the words of the system, its gaps filled; a figure that is not known shows as its own name."""
    key = f"step.{remedy.id}.{part}"
    template = texts.get(f"{key}_{platform}") or texts.get(key) or remedy.id
    names = {name: texts.get(f"step_name.{name}") or "ID" for name in COMMAND_GAPS}
    return fill_gaps(template, {**names, **figures}) or template


def _why(remedy: Remedy, texts: Texts, facts: Facts, entry: Entry | None, names: Mapping[str, str]) -> str:
    """The reason: the figure that makes it necessary first, then what the step rests on, then what was seen to help."""
    parts = [reason_sentence(entry, texts, names)] if entry is not None else []
    parts.append(texts.get(f"step.{remedy.id}.why") or "")
    seen = next((key for results, key in _SEEN if tried(remedy, facts, *results)), None)
    parts.append(texts.get(f"reason.{seen}") or "" if seen else "")
    return " ".join(part for part in parts if part)
