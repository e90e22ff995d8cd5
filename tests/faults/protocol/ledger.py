"""What people said on which tablet, what went over the wire, and what was acknowledged.

The ledger is the model: it knows nothing of how the app or the server keeps things, only what
each of them owes.
"""

import json
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import Any

from tests.faults.protocol.tablets import Answer, Flight

PUSH = "/api/sync/push"
DESK = "desk"
State = dict[str, Any]


class ProtocolBroken(AssertionError):
    """A promise was not kept. ``promise`` is its name."""

    def __init__(self, promise: str, sentence: str) -> None:
        super().__init__(f"{promise}: {sentence}")
        self.promise = promise


@dataclass(frozen=True)
class Word:
    """A text nobody else ever writes, so that it can be found again wherever it goes."""

    text: str
    by: str
    key: str
    field: str
    # What had been in sight in this field, where and when it was said.
    seen: frozenset[Any]


@dataclass
class Tally:
    """What a run did, for people to read."""

    steps: "Counter[str]" = field(default_factory=Counter)
    counts: "Counter[str]" = field(default_factory=Counter)

    def __str__(self) -> str:
        rules = ", ".join(f"{name} {count}" for name, count in self.steps.most_common())
        counts = ", ".join(f"{name} {count}" for name, count in sorted(self.counts.items()))
        return f"{self.steps.total()} steps ({rules}); {counts}"


@dataclass
class Ledger:
    tally: Tally
    words: dict[str, Word] = field(default_factory=dict)
    # Deletions, and what had been in sight of the whole record: (tablet, key) → values.
    deletions: dict[tuple[str, str], frozenset[Any]] = field(default_factory=dict)
    sent: dict[str, dict[str, Any]] = field(default_factory=dict)
    acknowledged: dict[str, dict[str, Any]] = field(default_factory=dict)
    refused: dict[str, dict[str, Any]] = field(default_factory=dict)
    # (tablet, key, field) → every value that stood there in sight.
    sights: "defaultdict[tuple[str, str, str], set[Any]]" = field(
        default_factory=lambda: defaultdict(set)
    )
    wire: list[Flight] = field(default_factory=list)

    def new_text(self) -> str:
        return f"word {len(self.words) + 1}"

    def say(self, text: str, by: str, key: str, name: str, seen: "set[Any] | None" = None) -> None:
        in_sight = self.sights[by, key, name] if seen is None else seen
        self.words[text] = Word(text, by, key, name, frozenset(in_sight))
        self.tally.counts["words said"] += 1

    def delete(self, by: str, key: str) -> None:
        in_sight = [
            values for (who, of, _), values in self.sights.items() if (who, of) == (by, key)
        ]
        self.deletions[by, key] = frozenset().union(*in_sight)

    def note_sights(self, by: str, state: State) -> None:
        for rows in state["rows"].values():
            for row in rows:
                for name, value in row.items():
                    if isinstance(value, str | bool):
                        self.sights[by, row["id"], name].add(value)
        for question in state["questions"]:
            for side in (question["shown"], question["kept"]):
                if isinstance(side["value"], str | bool):
                    place = by, question["entity_id"], question["field"]
                    self.sights[place].add(side["value"])

    def note_request(self, flight: Flight) -> None:
        """A request has left a tablet: from now on it may come to the server at any time."""
        self.wire.append(flight)
        self.tally.counts["requests"] += 1
        if flight.path != PUSH:
            return
        for change in json.loads(flight.body)["changes"]:
            before = self.sent.setdefault(change["id"], change)
            if before != change:
                raise ProtocolBroken(
                    "what was sent is never altered", f"{before} went again as {change}"
                )

    def note_answer(self, flight: Flight, answer: Answer) -> None:
        """An answer has reached its tablet whole."""
        if flight.path != PUSH or answer.status != 200:
            return
        for result in answer.json()["results"]:
            if result["outcome"] == "refused":
                self.refused[result["id"]] = result
            elif result["id"] not in self.acknowledged:
                self.acknowledged[result["id"]] = result
                self.tally.counts["changes acknowledged"] += 1

    def check_outbox(self, tablet: str, before: State, after: State, dropped: set[str]) -> None:
        """Nothing leaves a tablet's line but what was acknowledged, or dropped by the person.

        dropped  keys of records that the step took back by the person's own wish
        """
        now = {change["order"]: change for change in after["outbox"]}
        for was in before["outbox"]:
            change = now.get(was["order"])
            if change is None:
                if not self._is_acknowledged(was) and was["entity_id"] not in dropped:
                    raise ProtocolBroken(
                        "what is not acknowledged stays on its tablet",
                        f"tablet {tablet} let go of {was}",
                    )
                continue
            may_change = was["state"] == "refused" or not was["tried"]
            altered = any(was[name] != change[name] for name in ("id", "fields", "base", "at"))
            if altered and not may_change:
                raise ProtocolBroken(
                    "what was sent is never altered", f"tablet {tablet} made {was} into {change}"
                )
            lost = set(was["fields"]) - set(change["fields"])
            if lost:
                raise ProtocolBroken(
                    "what is not acknowledged stays on its tablet",
                    f"tablet {tablet} let go of {sorted(lost)} in {was}",
                )

    def _is_acknowledged(self, change: dict[str, Any]) -> bool:
        """Under its own id or, when that one was refused, under the one it went by again."""
        if change["id"] in self.acknowledged:
            return True
        parts = ("entity_id", "fields", "at")
        return change["state"] == "refused" and any(
            all(self.sent[key][part] == change[part] for part in parts) for key in self.acknowledged
        )
