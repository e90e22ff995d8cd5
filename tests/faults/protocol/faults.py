"""Five faults that sync protocols are known for, to be put back in so that the machine proves
that it finds them. They stand here only: neither the app nor the server has a switch for them.
"""

import itertools
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from unittest import mock

from survey.sync import apply, conflict, files, log
from survey.sync.models import Change, Upload

# Changes to the app's sources, as the host takes them.
Patches = list[dict[str, str]]


@contextmanager
def lost_acknowledgement() -> Iterator[Patches]:
    """The tablet takes an answer that never came for a good one."""
    yield [
        {
            "file": "sync/push.js",
            "find": "await reopenUnanswered();\n      const isNotTaken",
            "put": 'await db.outbox.where({ state: "sending" }).delete();\n      const isNotTaken',
        }
    ]


@contextmanager
def sequence_gap() -> Iterator[Patches]:
    """Numbers come from a sequence, as databases have them: handed out before the commit, in
    whatever order, and readable by everybody at once."""
    numbers = itertools.count(1)
    newest = [0]

    def take(count: int = 1) -> int:
        taken = [next(numbers) for _ in range(count)]
        newest[0] = taken[-1]
        return taken[0]

    with (
        mock.patch.object(log, "lock", lambda: None),
        mock.patch.object(log, "take_numbers", take),
        mock.patch.object(log, "last_number", lambda: newest[0]),
    ):
        yield []


@contextmanager
def last_writer_overwrites() -> Iterator[Patches]:
    """Whoever comes last is held to have seen all that came before."""
    with mock.patch.object(conflict, "has_seen", lambda change, earlier: True):
        yield []


@contextmanager
def tombstone_resurrection() -> Iterator[Patches]:
    """A change to a record that was deleted meanwhile brings it back, and nobody is asked."""
    weigh = conflict.weigh

    def revived(change: Change, fields: Any) -> tuple[set[str], bool]:
        stands, asked = weigh(change, set(fields) - {conflict.DELETED} or fields)
        if conflict.DELETED not in change.fields:
            stands |= {conflict.DELETED}
        return stands, asked

    with (
        mock.patch.object(conflict, "weigh", revived),
        mock.patch.object(apply, "_revival", lambda change, row: set()),
    ):
        yield []


@contextmanager
def half_uploaded_photograph() -> Iterator[Patches]:
    """A photograph counts as stored as soon as its upload was begun.

    The tablet's own second try at a broken piece would mend most of it, so it is left out.
    """

    def stored_of(sha256s: Any) -> list[str]:
        begun = Upload.objects.filter(sha256__in=list(sha256s))
        return sorted(set(begun.values_list("sha256", flat=True)))

    with mock.patch.object(files, "stored_of", stored_of):
        yield [
            {
                "file": "sync/photographs.js",
                "find": "const RETRY_AFTER_MS = [1000, 3000];",
                "put": "const RETRY_AFTER_MS = [];",
            }
        ]


# Each with the promises that it breaks.
SEEDED = {
    lost_acknowledgement: {"what is not acknowledged stays on its tablet"},
    # What a tablet then never pulls may also be a deletion.
    sequence_gap: {"the cursor skips nothing", "what was deleted goes from every tablet"},
    last_writer_overwrites: {"no word vanishes without a question"},
    tombstone_resurrection: {"what was deleted stays so, or a question is open"},
    half_uploaded_photograph: {"what counts as sent is on the server byte for byte"},
}
