"""The first pages of `portmend ask`: what misbehaves, what to look at, which device it is about, what stands out."""

from dataclasses import replace
from pathlib import Path

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.bus.model import Device
from wizard.bus.tree import BusTree, natural_key
from wizard.case.documents import Look
from wizard.report.blocks import Item, Listing, Para
from wizard.report.bus_part import bus_section
from wizard.report.case_part import symptom_words
from wizard.report.ledger_part import ledger_section, ledger_summary, overdrawn_words, signs_section
from wizard.report.words import device_words
from wizard.terminal.asking import Desk, Talk, case_of, kept, now
from wizard.terminal.prompts import ask_text, choose

_NOT_SURE = "other"

_HERE, _CAPTURED, _DEMO, _WITHOUT = (
    "This computer, now",
    "A captured tree of a computer (a folder or an archive)",
    "A demo with invented devices",
    "Nothing: go on without a look",
)


def trouble_page(desk: Desk, talk: Talk) -> Talk:
    """What misbehaves; several may be named, and the worst is marked."""
    known = [symptom.id for symptom in desk.services.rulebook.symptoms]
    texts = desk.services.texts
    desk.screen.say("What misbehaves? Name everything that fits.")
    names = [_with_words(symptom, desk) for symptom in known]
    reply = choose(desk.screen, names, "not sure", many=True, letters="q")
    if reply.move == "quit":
        return talk.to("end")
    ticked = [known[position] for position in reply.chosen] or [_NOT_SURE]
    if len(ticked) > 1:
        desk.screen.say("Which of these is the worst?")
        worst = choose(desk.screen, [symptom_words(s, texts) for s in ticked], "the first", letters="bq")
        if worst.move in ("quit", "back"):
            return talk.to("end" if worst.move == "quit" else "trouble")
        first = ticked[worst.chosen[0]] if worst.chosen else ticked[0]
        ticked = [first, *(s for s in ticked if s != first)]
    return replace(talk, symptoms=tuple(ticked), page="look")


def look_page(desk: Desk, talk: Talk) -> Talk:
    """Where to look; comes again until a look was taken or refused."""
    options = [option for option in (_HERE, _CAPTURED, _DEMO, _WITHOUT) if option != _HERE or not talk.no_bus_here]
    desk.screen.say("What should be looked at?")
    reply = choose(desk.screen, options, options[0].lower())
    if reply.move in ("quit", "back"):
        return talk.to("end" if reply.move == "quit" else "trouble")
    chosen = options[reply.chosen[0] if reply.chosen else 0]
    if chosen == _WITHOUT:
        return _begun(desk, talk, None, "described", None)
    try:
        return _demo(desk, talk) if chosen == _DEMO else _look(desk, talk, chosen)
    except BadInputError as refused:
        desk.screen.say(str(refused))
        return talk


def subject_page(desk: Desk, talk: Talk) -> Talk:
    """Which devices the trouble is about; hubs may be meant, too."""
    case = case_of(talk)
    devices = _devices(talk.look or Look())
    if not devices or case.source == "demo":
        return kept(desk, talk, case, "ledger")
    desk.screen.say("Which device is it about?")
    names = [f"{device_words(device)} ({device.id})" for device in devices]
    reply = choose(desk.screen, names, "don't know, or it is not in the list", many=True)
    if reply.move in ("quit", "back"):
        return talk.to("end" if reply.move == "quit" else "look")
    subject = tuple(devices[position].id for position in reply.chosen)
    return kept(desk, talk, case.model_copy(update={"subject": subject}), "ledger")


def ledger_page(desk: Desk, talk: Talk) -> Talk:
    """What stands out on the bus; everything on request."""
    look = talk.look
    if look is None or not look.has_bus:
        return talk.to("questions")
    texts = desk.services.texts
    over = overdrawn_words(look.ledger, BusTree(look.snapshot), texts)
    desk.screen.blocks(Para(ledger_summary(look.ledger), "What the bus can carry"))
    if over:
        desk.screen.blocks(Listing(tuple(Item(words, tone="warning") for words in over)))
    while True:
        reply = choose(desk.screen, ["Show everything: the tree, all budgets, the log"], "go on")
        if reply.move != "answer":
            break
        desk.screen.section(bus_section(look))
        desk.screen.section(ledger_section(look, texts))
        desk.screen.section(signs_section(look.signs, look, texts))
    if reply.move == "back":
        return talk.to("look" if case_of(talk).source == "demo" else "subject")
    return talk.to("end" if reply.move == "quit" else "questions")


def _with_words(symptom: str, desk: Desk) -> str:
    words = desk.services.texts.get(f"symptom.{symptom}.words")
    title = symptom_words(symptom, desk.services.texts)
    return f"{title}: {words}" if words else title


def _look(desk: Desk, talk: Talk, chosen: str) -> Talk:
    """The talk after a look here or at a capture; the same page again if it gave nothing. Raises BadInputError."""
    path = None
    if chosen == _CAPTURED:
        reply = ask_text(desk.screen, "Folder or archive (enter = go back): ")
        if reply.move != "answer":
            return talk.to("end" if reply.move == "quit" else "look")
        path = Path(reply.text).expanduser()
    log = _log(desk)
    look = wiring.look_live(log=log) if path is None else wiring.look_captured(path, log=log)
    for note in look.notes:
        desk.screen.say(note)
    if not look.has_bus:
        desk.screen.say("No USB bus was found there.")
        return replace(talk, no_bus_here=talk.no_bus_here or path is None)
    return _begun(desk, talk, look, "live" if path is None else "captured", log)


def _log(desk: Desk) -> str | None:
    """A kernel log, if there is one. Raises BadInputError."""
    reply = ask_text(desk.screen, "File with a kernel log, if you have one (enter = none): ", letters="")
    return wiring.read_log(Path(reply.text).expanduser(), desk.screen.say) if reply.move == "answer" else None


def _begun(desk: Desk, talk: Talk, look: Look | None, source: wiring.Source, log: str | None) -> Talk:
    """A case begun on a look; what was answered before is kept, it was told by the same person."""
    case = wiring.new_case(talk.symptoms[0], talk.symptoms[1:], look, (), source)
    told = talk.case if talk.case is not None and talk.case.source != "demo" else None
    case = case.model_copy(
        update={
            "log": log,
            "observations": told.observations if told else {},
            "asked": told.asked if told else (),
            "taken_at": now() if look is not None else None,
        }
    )
    return kept(desk, replace(talk, look=look), case, "subject")


def _demo(desk: Desk, talk: Talk) -> Talk:
    names = wiring.demo_names()
    demos = [wiring.load_demo(name) for name in names]
    reply = choose(desk.screen, [demo.title for demo in demos], "the first")
    if reply.move in ("quit", "back"):
        return talk.to("end" if reply.move == "quit" else "look")
    demo = demos[reply.chosen[0] if reply.chosen else 0]
    desk.screen.blocks(Para(demo.story))
    case = wiring.demo_case(demo)
    look = wiring.look_demo(demo, "before")
    return kept(desk, replace(talk, look=look, symptoms=(case.symptom, *case.also)), case, "subject")


def _devices(look: Look) -> list[Device]:
    """Devices that may be meant: hubs last, root hubs never."""
    plugged = [device for device in look.snapshot.devices if not device.root]
    return sorted(plugged, key=lambda device: (device.hub is not None, natural_key(device.id)))
