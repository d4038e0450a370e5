"""Portmend: why USB gear misbehaves, and what to do about it, in a safe order."""

__version__ = "0.1.0"
