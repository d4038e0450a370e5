"""Events as Windows' event viewer shows or saves them: XML, also cut or not well formed, and text copies.

XML is not parsed as XML: copies of it hold bare ampersands and lack their ends, and nothing here may fetch or expand
an entity. Knows the shapes; not what an event means.
"""

import html
import re
from collections.abc import Iterator

from wizard.observe.exports.json_values import Value

_EVENT = re.compile(r"<(?:\w+:)?System>", re.I)
_PROVIDER = re.compile(r"<Provider\b[^>]*?\bName=['\"]([^'\"]{1,200})['\"]", re.I)
_SOURCE = re.compile(r"<Provider\b[^>]*?\bEventSourceName=['\"]([^'\"]{1,200})['\"]", re.I)
_ID = re.compile(r"<EventID\b[^>]*>\s*(\d{1,10})", re.I)
_TIME = re.compile(r"<TimeCreated\b[^>]*?\bSystemTime=['\"]([^'\"]{1,64})['\"]", re.I)
_CHANNEL = re.compile(r"<Channel>([^<]{1,200})", re.I)
_DATA = re.compile(r"<Data\b(?:\s+Name=['\"]([^'\"]{1,100})['\"])?[^>]*?(?:/>|>([^<]*))", re.I)
_USER = re.compile(r"<UserData>(.*)", re.I | re.S)
_CHILD = re.compile(r"<([A-Za-z_]\w{0,60})(?:\s[^>]*)?>([^<]*)</\1>")
_MESSAGE = re.compile(r"<Message>([^<]*)", re.I)

_NUMBER_LINE = re.compile(
    # The label in English, and in other languages from memory
    r"(?im)^[ \t>]*(?:Event ?ID|Ereignis-ID|ID de l.événement|Id\.? d[eu]l? evento|ID evento|Gebeurtenis-id"
    r"|事件 ?ID|イベント ?ID)"
    r"\s*[::]\s*(\d{1,6})\s*$"
)
_FIELD = re.compile(r"^[ \t]*([^\s:][^::\n]{0,60}?)[ \t]*[::][ \t]*(.*)$")
_VIEW_NAME = re.compile(r"^\s*-?\s*\[\s*(\w{1,40})\s*\]\s+(.+)$")
_VIEW_FIELD = re.compile(r"^\s*-\s+(\w{1,60})\s+(\S.*)$")
_LABELS = {
    "quelle": "Source", "source": "Source", "event source": "Source", "origen": "Source", "origine": "Source",
    "datum": "Date", "date": "Date", "fecha": "Date", "data": "Date",
    "protokollname": "Log Name", "log name": "Log Name", "nom du journal": "Log Name",
    "nombre de registro": "Log Name", "nome registro": "Log Name",
}  # fmt: skip
_BEGINS = ("log name", "protokollname", "nom du journal", "nombre de registro", "nome registro", "event id")
_BARE = re.compile(
    # Texts of these events as Microsoft's troubleshooting pages print them, after their number
    r"(?m)^[ \t]*(7|11|15|51|52|55|98|129|140|153|154|157|158)[ \t]+((?:The (?:device|driver|IO operation|file system)|"
    r"An error was detected|Reset to device|Disk \d|Volume \S).*)$"
)
_PROVIDERS_OF_BARE = {55: "Ntfs", 98: "Ntfs", 140: "Ntfs", 129: "uaspstor"}


def is_event_text(text: str) -> bool:
    """Whether a text holds events in one of these shapes."""
    return any(pattern.search(text) for pattern in (_EVENT, _NUMBER_LINE, _BARE)) or _is_view(text)


def _is_view(text: str) -> bool:
    return re.search(r"(?m)^\s*-\s+EventID\s+\d", text) is not None


def events_in(text: str) -> Iterator[Value]:
    """The events, each a mapping with the names of the exports in JSON."""
    if _EVENT.search(text) and not _NUMBER_LINE.search(text):
        yield from _xml_events(text)
    elif _NUMBER_LINE.search(text):
        yield from _text_copies(text)
    elif _is_view(text):
        yield _view(text)
    else:
        for match in _BARE.finditer(text):
            number = int(match[1])
            provider = _PROVIDERS_OF_BARE.get(number, "disk")
            record = {"EventID": number, "ProviderName": provider, "Message": match[2].strip()}
            yield Value(record, text.count("\n", 0, match.start()) + 1)


def _xml_events(text: str) -> Iterator[Value]:
    starts = [match.start() for match in _EVENT.finditer(text)]
    line, counted = 1, 0
    for begin, end in zip(starts, [*starts[1:], len(text)], strict=True):
        line, counted = line + text.count("\n", counted, begin), begin
        found = _xml_event(text[begin:end])
        if found:
            yield Value(found, line)


def _xml_event(block: str) -> dict[str, object]:
    number = _ID.search(block)
    if number is None:
        return {}
    found: dict[str, object] = {"EventID": int(number[1])}
    for name, pattern in (
        ("ProviderName", _PROVIDER),
        ("TimeCreated", _TIME),
        ("Channel", _CHANNEL),
        ("Message", _MESSAGE),
    ):
        match = pattern.search(block)
        if match:
            found[name] = _words(match[1])
    source = _SOURCE.search(block)
    if source:
        found["ProviderName"] = _words(source[1])
    unnamed = []
    for match in _DATA.finditer(block):
        if match[1]:
            found.setdefault(match[1], _words(match[2] or ""))
        elif match[2]:
            unnamed.append(_words(match[2]))
    user = _USER.search(block)
    for match in _CHILD.finditer(user[1]) if user else ():
        found.setdefault(match[1], _words(match[2]))
    if unnamed:
        found["Properties"] = unnamed
    return found


def _words(text: str) -> str:
    return html.unescape(html.unescape(text)).strip()  # some copies are escaped twice


def _text_copies(text: str) -> Iterator[Value]:
    """Blocks of a text copy; each begins at the label that stands first in it."""
    lines = text.replace("\r\n", "\n").split("\n")
    starts = _starts(lines)
    for begin, end in zip(starts, [*starts[1:], len(lines)], strict=True):
        found = _copy(lines[begin:end])
        if "EventID" in found:
            yield Value(found, begin + 1)


def _starts(lines: list[str]) -> list[int]:
    labels = [(number, line.split(":")[0].strip().lower()) for number, line in enumerate(lines)]
    first = next((label for _, label in labels if label in _BEGINS), None)
    found = [number for number, label in labels if label == first]
    return found or [0]


def _copy(lines: list[str]) -> dict[str, object]:
    found: dict[str, object] = {}
    body = "\n".join(lines)
    number = _NUMBER_LINE.search(body)
    if number is None:
        return {}
    found["EventID"] = int(number[1])
    xml = _EVENT.search(body)
    told = _xml_event(body[xml.start() :]) if xml else {}
    for line in (body[: xml.start()] if xml else body).split("\n"):
        match = _FIELD.match(line)
        if match:
            key = match[1].strip()
            found.setdefault(_LABELS.get(key.lower(), key), match[2].strip())
    found["Message"] = body[number.end() : xml.start() if xml else len(body)].strip()
    return {**found, **told}


def _view(text: str) -> Value:
    """The 'details' view copied as text: `- EventID 219`, `- [ Name] …`."""
    found: dict[str, object] = {}
    for line in text.split("\n"):
        match = _VIEW_NAME.match(line)
        if match:
            name = {"Name": "ProviderName", "SystemTime": "TimeCreated"}.get(match[1], match[1])
            found.setdefault(name, match[2].strip())
            continue
        match = _VIEW_FIELD.match(line)
        if match:
            found.setdefault(match[1], match[2].strip())
    return Value(found, 1)
