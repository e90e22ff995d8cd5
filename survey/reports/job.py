"""What a kind of report is: how its record is found, what of it is told, and how it is set."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from survey.access.models import Person

Say = Callable[[float, str], None]
# (bytes, media type) of a picture, by its address in the document.
Pictures = Mapping[str, tuple[bytes, str]]


@dataclass(frozen=True)
class Attached:
    """A file that travels within the document."""

    name: str
    description: str
    content: bytes


@dataclass(frozen=True)
class Document:
    """All of one report, gathered from one state of its record.

    template  sets ``content``, which it knows by that name
    lacks     a sentence when something could not be shown
    """

    template: str
    content: Any
    pictures: Pictures
    lacks: str
    attached: Sequence[Attached] = field(default=())


@dataclass(frozen=True)
class Kind:
    """One kind of report.

    find       the record with this key, as it stands now; None where it is gone
    revision   the number of the last change to anything a report of it would tell
    tells      the state of the record in words
    gather     all of the report, for the person who asked; told the share done, 0…1, and the step
    number     what the record is called in the audit trail: an accession number, a reference
    file_name  without the day it was made and without ``.pdf``
    in_words   the record, for a sentence: ``PE.1987.3, examined 3 May 2026``
    """

    find: Callable[[UUID], Any]
    revision: Callable[[Any], int]
    tells: Callable[[Any], str]
    gather: Callable[[Any, Person, str, str, Say], Document]
    number: Callable[[Any], str]
    file_name: Callable[[Any], str]
    in_words: Callable[[Any], str]


def safe(name: str) -> str:
    """As a file's name on every disk."""
    return "".join(one if one.isalnum() or one in ".-_ " else "-" for one in name)
