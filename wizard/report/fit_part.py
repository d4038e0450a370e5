"""'Does one more fit?' in words: how many, where best, what stops the next one, and what the answer hangs on."""

from wizard.budget.entry import Entry
from wizard.budget.fit import Fit, Fitted
from wizard.bus.tree import BusTree
from wizard.diagnosis.texts import Texts
from wizard.report.blocks import Block, Item, Listing, Para, Section
from wizard.report.open_words import settled_words
from wizard.report.words import amount, limit_words, place_words, text_or


def fit_section(fit: Fit, title: str, source: str, tree: BusTree, texts: Texts) -> Section:
    """The answer for one kind; `title` is its name, `source` where its figures are from, `tree` the bus now."""
    blocks: list[Block] = [Para(fit_answer(fit))]
    if fit.perhaps.sockets:
        blocks += [Para("Where best, in this order:"), Listing(_places(fit, tree))]
    blocked = _blocked(fit, tree, texts)
    if blocked:
        blocks += [Para("What stops the next one:"), Listing(blocked)]
    doubts = tuple(Item(_doubt(e, tree, texts)) for e in (*fit.depends_on, *fit.not_known))
    if doubts:
        blocks += [Para("What the answer hangs on:"), Listing(doubts)]
    blocks.append(
        Para(f"Reckoned with a typical device ({source}); what a real one declares may differ.", tone="quiet")
    )
    return Section("fit", f"Does one more fit? {title}", tuple(blocks))


def fit_answer(fit: Fit) -> str:
    """The answer in a sentence: `Yes: 3 more fit for certain, 4 if …`."""
    sure, may = fit.certain.count, fit.perhaps.count
    if not may and fit.unlisted and not fit.perhaps.blocked_by:
        return "Not known: this look does not tell which sockets are free."
    if not may:
        return "No: not one more fits." if fit.perhaps.blocked_by else "No: no suitable socket is free."
    if not sure:
        return f"Perhaps: up to {may} more if a limit that is not known is high enough; for certain none."
    many = _count(sure, fit)
    if may > sure:
        return f"Yes: {many} for certain, and up to {may} if a limit that is not known is high enough."
    if fit.not_known:
        return f"Yes, as far as is known: {many}. Some limits are not known at all."
    return f"Yes: {many}."


def _count(number: int, fit: Fit) -> str:
    least = f"at least {number}" if number == fit.asked else str(number)
    return f"{least} more {'fits' if number == 1 else 'fit'}"


def _places(fit: Fit, tree: BusTree) -> tuple[Item, ...]:
    best: Fitted = fit.certain if fit.certain.sockets else fit.perhaps
    return tuple(
        Item(
            _socket_words(socket, tree)
            + (", but it runs slower there" if socket in best.slower else "")
            + (", but not all limits there are known" if _is_doubtful(socket, fit) else "")
        )
        for socket in best.sockets
    )


def _is_doubtful(socket: str, fit: Fit) -> bool:
    """Whether a limit is not known at all at the socket or at a hub above it."""
    return any(socket == e.where or socket.startswith(f"{e.where}.") for e in fit.not_known)


def _socket_words(socket: str, tree: BusTree) -> str:
    known = tree.sockets.get(socket)
    if known is None:
        return f"socket {socket}"
    hub = tree.devices.get(known.hub)
    at = "" if hub is None or hub.root else f" of {place_words(hub.id, tree)}"
    place = f" ({known.place})" if known.place else ""
    return f"socket {socket}{place}{at}"


def _blocked(fit: Fit, tree: BusTree, texts: Texts) -> tuple[Item, ...]:
    stopped = fit.certain.blocked_by or fit.perhaps.blocked_by
    if stopped:
        at_most = {e.where for e in stopped if e.budget == "periodic_time"}
        # What would be over now would be over at the greatest settings, too: said once.
        told = (e for e in stopped if e.budget != "periodic_time_active" or e.where not in at_most)
        return tuple(Item(_over_words(e, tree, texts)) for e in told)
    if fit.perhaps.count < fit.asked and fit.unlisted:
        return (Item("the look names only sockets with something in them; whether others are free is not known"),)
    if fit.perhaps.count < fit.asked:
        return (Item("no suitable socket is free then; a hub would add some"),)
    return ()


def _over_words(entry: Entry, tree: BusTree, texts: Texts) -> str:
    title = text_or(texts, f"budget.{entry.budget}.title", entry.budget)
    where = place_words(entry.where, tree, entry.budget)
    return f"{title}, {where}: {amount(entry.used, entry.unit)} would be used, limit {limit_words(entry)}"


def _doubt(entry: Entry, tree: BusTree, texts: Texts) -> str:
    title = text_or(texts, f"budget.{entry.budget}.title", entry.budget)
    where = place_words(entry.where, tree, entry.budget)
    if entry.bracket is None:
        return f"{title}, {where}: the limit is not known{settled_words(entry, texts)}"
    low, high = (texts.get(f"bracket.{entry.budget}.{end}") for end in ("lower", "higher"))
    told = f"; fewer fit if {low}, more if {high}" if low and high else ""
    return f"{title}, {where}: limit {limit_words(entry)}{told}{settled_words(entry, texts)}"
