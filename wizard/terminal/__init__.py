"""Portmend in a terminal: one small module for each sub-command. Knows no window."""
