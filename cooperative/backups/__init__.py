"""Copies of everything: made while people record, proved by bringing them back, and brought back in earnest."""


class Trouble(Exception):
    """Something that keeps a copy from being made, proved or brought back, in words for whoever minds the host."""
