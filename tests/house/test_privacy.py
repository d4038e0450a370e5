"""README's promise that Portmend opens no connection: nothing that could is even imported."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

CONNECTING = {
    "asyncio",
    "ftplib",
    "http",
    "imaplib",
    "poplib",
    "smtplib",
    "socket",
    "socketserver",
    "ssl",
    "telnetlib",
    "urllib.request",
    "xmlrpc",
    "PySide6.QtNetwork",
    "PySide6.QtWebSockets",
    "PySide6.QtWebEngineCore",
}


def imported(code: str) -> Iterator[str]:
    """Every dotted name that CODE imports; `from a import b` gives both `a` and `a.b`."""
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def connecting(code: str) -> list[str]:
    """The names in CODE's imports that open connections, or lie within one that does."""
    return [name for name in imported(code) if any(f"{name}.".startswith(f"{one}.") for one in CONNECTING)]


def test_no_module_imports_what_opens_connections(checkout: Path) -> None:
    found = {path.name: connecting(path.read_text("utf-8")) for path in (checkout / "wizard").rglob("*.py")}
    assert found.pop("watch_uevents.py") == ["socket"]
    assert {name: names for name, names in found.items() if names} == {}


def test_the_one_socket_there_is_hears_the_kernel_and_nothing_else(checkout: Path) -> None:
    code = (checkout / "wizard" / "observe" / "watch_uevents.py").read_text("utf-8")
    families = set(re.findall(r"AF_\w+", code))
    assert families == {"AF_NETLINK"}, "netlink never leaves the machine; any other family could"
    assert code.count("socket.socket(") == 1


def test_an_import_that_opens_connections_would_be_found() -> None:
    assert connecting("import os, socket") == ["socket"]
    assert connecting("from urllib import request") == ["urllib.request"]
    assert connecting("from http.client import HTTPConnection") == ["http.client", "http.client.HTTPConnection"]
    assert connecting("from PySide6 import QtNetwork") == ["PySide6.QtNetwork"]
    assert connecting("from urllib.parse import quote\nimport PySide6.QtWidgets") == []
