"""What is said arrives whole and harmless on any console."""

import io
import json
from typing import Any

import pytest

from wizard.bus.errors import BadInputError
from wizard.bus.model import Device
from wizard.report.blocks import Para, Section
from wizard.terminal.screen import Screen, real_screen


def test_foreign_text_never_reaches_the_terminal_raw(scripted: Any) -> None:
    script = scripted()
    nasty = "\x1b]0;title\x07\nforged"
    script.screen.say(nasty)
    script.screen.note(nasty)
    script.screen.section(Section("s", nasty, (Para(nasty),)))
    assert not set(script.text + script.notes) & set("\x1b\x07")
    assert script.notes == "\\x1b]0;title\\x07 forged\n"


def test_documents_are_ascii_and_use_published_names(scripted: Any) -> None:
    script = scripted()
    script.screen.document(Device(id="1-1", class_code=9, product="Gerät\x9b"))
    assert script.text.isascii()
    document = json.loads(script.text)
    assert document["class"] == 9
    assert document["product"] == "Gerät\x9b"
    assert document["speed"] is None


class Full(io.StringIO):
    def write(self, text: str) -> int:
        raise OSError(28, "No space left on device")


class Broken(io.StringIO):
    def write(self, text: str) -> int:
        raise BrokenPipeError(32, "Broken pipe")


def screen_on(out: io.StringIO) -> Screen:
    return Screen(out, io.StringIO(), input, 80)


def test_a_full_disk_is_one_clear_sentence() -> None:
    with pytest.raises(BadInputError, match=r"standard output: it can't be written \(No space left on device\)"):
        screen_on(Full()).say("x")


def test_a_reader_that_left_is_not_a_full_disk() -> None:
    with pytest.raises(BrokenPipeError):
        screen_on(Broken()).say("x")


def test_a_process_without_a_console_still_has_somewhere_to_speak(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdout", None)
    monkeypatch.setattr("sys.stderr", None)
    screen = real_screen()
    screen.say("x")
    screen.note("y")
    screen.flush()
    screen.out.close()
    screen.err.close()
