"""Whether the worker was told to end: a reading then stops at its next step and waits."""

import threading

_asked = threading.Event()


def ask() -> None:
    _asked.set()


def is_asked() -> bool:
    return _asked.is_set()
