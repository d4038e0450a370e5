"""A hub that QEMU itself does not have: one more in a row than allowed, handed to it over its redirection channel.

Speaks the device's side of the usbredir protocol (docs/usb-redirection-protocol.md of the usbredir project,
version 0.7), no more of it than a hub needs that the kernel never takes into use.
"""

from __future__ import annotations

import socket
import struct
import time
from collections.abc import Callable
from pathlib import Path

_HELLO, _CONNECT, _INTERFACES, _ENDPOINTS = 0, 1, 4, 5
_SET_CONFIGURATION, _GET_CONFIGURATION, _CONFIGURATION = 6, 7, 8
_CONTROL = 100
_DONE, _STALL = 0, 4  # usb_redir_success, usb_redir_stall
_FULL_SPEED, _HUB = 1, 9
_NO_ENDPOINT = 255
_HEAD = struct.Struct("<III")

# USB 2.0 Tables 9-8, 9-10, 9-12, 9-13, and §11.23.1 for what a full-speed hub says there.
_DEVICE = struct.pack("<BBHBBBBHHHBBBB", 18, 1, 0x0110, _HUB, 0, 0, 64, 0x1209, 0x0300, 0x0100, 0, 0, 0, 1)
_BODY = struct.pack("<BBBBBBBBB", 9, 4, 0, 0, 1, _HUB, 0, 0, 0) + struct.pack("<BBBBHB", 7, 5, 0x81, 3, 1, 255)
_SET = struct.pack("<BBHBBBBB", 9, 2, 9 + len(_BODY), 1, 1, 0, 0xE0, 0) + _BODY
_ANSWERS = {1: _DEVICE, 2: _SET}


def serve(path: Path, is_over: Callable[[], bool]) -> None:
    """Be that hub on QEMU's socket at PATH until it is over."""
    with socket.socket(socket.AF_UNIX) as end:
        while not _connected(end, path):
            if is_over():
                return
            time.sleep(0.05)
        end.settimeout(0.2)
        end.sendall(_packet(_HELLO, b"portmend laboratory".ljust(64, b"\0") + bytes(4)))
        end.sendall(_packet(_INTERFACES, struct.pack("<I32s32s32s32s", 1, b"\0", bytes([_HUB]), b"", b"")))
        kinds = bytes([0]) + bytes([_NO_ENDPOINT] * 15) + bytes([0, 3]) + bytes([_NO_ENDPOINT] * 14)
        end.sendall(_packet(_ENDPOINTS, kinds + bytes(17) + bytes([255]) + bytes(14) + bytes(32)))
        end.sendall(_packet(_CONNECT, struct.pack("<BBBBHH", _FULL_SPEED, _HUB, 0, 0, 0x1209, 0x0300)))
        waiting = b""
        while not is_over():
            try:
                arrived = end.recv(65_536)
            except TimeoutError:
                continue
            except OSError:
                return
            if not arrived:
                return
            waiting = _handled(end, waiting + arrived)


def _connected(end: socket.socket, path: Path) -> bool:
    try:
        end.connect(str(path))
    except OSError:
        return False
    return True


def _packet(kind: int, body: bytes, number: int = 0) -> bytes:
    return _HEAD.pack(kind, len(body), number) + body


def _handled(end: socket.socket, waiting: bytes) -> bytes:
    """Answer every whole packet; what is left over."""
    while len(waiting) >= _HEAD.size:
        kind, length, number = _HEAD.unpack_from(waiting)
        if len(waiting) < _HEAD.size + length:
            break
        body, waiting = waiting[_HEAD.size : _HEAD.size + length], waiting[_HEAD.size + length :]
        if kind == _CONTROL:
            end.sendall(_packet(_CONTROL, _control(body), number))
        elif kind in (_SET_CONFIGURATION, _GET_CONFIGURATION):
            end.sendall(_packet(_CONFIGURATION, bytes([_DONE, 1]), number))
    return waiting


def _control(body: bytes) -> bytes:
    endpoint, request, kind, _, value, index, length = struct.unpack_from("<BBBBHHH", body)
    data = b""
    status = _DONE
    if (kind, request) == (0x80, 6):  # GET_DESCRIPTOR, USB 2.0 §9.4.3
        data = _ANSWERS.get(value >> 8, b"")[:length]
        status = _DONE if data else _STALL
    elif kind & 0x80:
        data = bytes(length)
    return struct.pack("<BBBBHHH", endpoint, request, kind, status, value, index, len(data)) + data
