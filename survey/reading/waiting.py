"""What waits for the worker: each room that gives it work says how to take up what was left."""

from collections.abc import Callable

TakeUp = Callable[[], int]
_rooms: dict[str, TakeUp] = {}


def register(name: str, take_up: TakeUp) -> None:
    """Add a kind of work.

    name     what it is called, in the plural: ``Readings``
    take_up  puts back to wait what a killed worker was at, queues all that waits, and returns
             how many wait
    """
    _rooms[name] = take_up


def take_up() -> str:
    """Take up all that waits, only where no worker runs. Returns how many of each, in words."""
    return " ".join(f"{name} that wait: {room()}." for name, room in _rooms.items())
