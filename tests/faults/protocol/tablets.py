"""The process in which the tablets run: we say one line, and it does all that follows from it."""

import base64
import json
import subprocess
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
NODE = HERE.parents[2] / ".venv" / "bin" / "node"


@dataclass
class Flight:
    """One request on its way: asked by a tablet, perhaps served, not yet answered."""

    number: int
    tablet: str
    life: int
    method: str
    path: str
    headers: dict[str, str]
    body: bytes
    answer: "Answer | None" = None


@dataclass
class Answer:
    status: int
    headers: dict[str, str]
    body: bytes

    def json(self) -> Any:
        return json.loads(self.body)


class TabletFailed(Exception):
    """The app refused or failed; the message is what the person would read."""

    def __init__(self, sentence: str, kind: str) -> None:
        super().__init__(sentence)
        self.kind = kind


@dataclass
class Tablets:
    """Four tablets at most, named by letters. Every call returns when all of them are quiet.

    ``clock`` tells what the clock of a tablet shows, in milliseconds since 1970.
    """

    process: "subprocess.Popen[str]" = field(init=False)
    flights: list[Flight] = field(default_factory=list)
    ended: dict[int, dict[str, Any]] = field(default_factory=dict)
    commands: int = 0
    clock: Callable[[str], int] = field(default=lambda tablet: 0)

    def __post_init__(self) -> None:
        self.process = subprocess.Popen(
            [str(NODE), str(HERE / "host.mjs")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def close(self) -> None:
        assert self.process.stdin
        self.process.stdin.close()
        self.process.wait(timeout=10)

    def begin(self, tablet: str, deed: str, **given: Any) -> int:
        """Start something; its number in ``ended`` says when it is over."""
        self.commands += 1
        self._say(tablet, {"id": self.commands, "do": deed, **given})
        return self.commands

    def result(self, number: int) -> Any:
        """What came of it. Raises TabletFailed."""
        ended = self.ended.pop(number)
        if "error" in ended:
            raise TabletFailed(ended["error"], ended["kind"])
        return ended["value"]

    def do(self, tablet: str, deed: str, **given: Any) -> Any:
        """Something that asks nothing of the network. Raises TabletFailed."""
        number = self.begin(tablet, deed, **given)
        if number not in self.ended:
            raise RuntimeError(f"Tablet {tablet} never came to an end with {deed}: {given}")
        return self.result(number)

    def answer(self, flight: Flight, answer: Answer) -> None:
        self.flights.remove(flight)
        body = base64.b64encode(answer.body).decode()
        said = {"status": answer.status, "headers": answer.headers, "body": body}
        self._say(flight.tablet, {"answer": flight.number, **said})

    def break_off(self, flight: Flight) -> None:
        self.flights.remove(flight)
        self._say(flight.tablet, {"answer": flight.number, "broken": True})

    def forget_all(self) -> None:
        self.flights.clear()
        self.ended.clear()
        self._say("", {"do": "forgetAll"})

    def _say(self, tablet: str, message: dict[str, Any]) -> None:
        assert self.process.stdin and self.process.stdout
        clock_ms = self.clock(tablet) if tablet else 0
        line = {"tablet": tablet, "clock_ms": clock_ms, **message}
        self.process.stdin.write(json.dumps(line) + "\n")
        self.process.stdin.flush()
        for line in self.process.stdout:
            heard = json.loads(line)
            if "quiet" in heard:
                return
            if "done" in heard:
                self.ended[heard["done"]] = heard
            else:
                self.flights.append(_flight(heard))
        raise RuntimeError("The process of the tablets ended; its last words stand above.")


def _flight(heard: dict[str, Any]) -> Flight:
    return Flight(
        number=heard["asked"],
        tablet=heard["tablet"],
        life=heard["life"],
        method=heard["method"],
        path=heard["path"],
        headers=heard["headers"],
        body=base64.b64decode(heard["body"]),
    )
