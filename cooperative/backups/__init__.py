"""Copies of everything: made while people record, proved by bringing them back, and brought back in earnest."""

from cooperative.host import STARTED

STOP_THEM = f"Stop them first, on a host with\n  systemctl stop {' '.join(STARTED)}\nThen say this again."


class Trouble(Exception):
    """Something that keeps a copy from being made, proved or brought back, in words for whoever minds the host."""
