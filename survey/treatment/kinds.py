"""Kinds of step in a treatment, and the cautions that belong to each: the data file, read once."""

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from survey.vocabulary import queries as vocabulary

DATA = Path(__file__).parent / "data" / "steps.json"

Entry = dict[str, Any]


@dataclass(frozen=True)
class Warned:
    """A caution at a step. ``lines``: (what it is about, what to keep to)."""

    code: str
    name: str
    lines: tuple[tuple[str, str], ...]
    defer: str


@cache
def _data() -> Entry:
    return json.loads(DATA.read_text(encoding="utf-8"))


def step_kinds() -> list[Entry]:
    """In the order of the bench. Each: code, name, definition, traits (codes), needs_material,
    cautions (codes of the vocabulary), source."""
    return _data()["kinds"]


def traits() -> list[Entry]:
    """What makes a step risky. Each: code, name, caution (a code of the vocabulary, or None),
    lines (about, text), defer (whose rules come first), source."""
    return _data()["traits"]


def kind_of(code: str) -> Entry | None:
    return next((kind for kind in step_kinds() if kind["code"] == code), None)


def kind_name(code: str) -> str:
    """A code that is not in the file speaks for itself."""
    found = kind_of(code)
    return found["name"] if found else code


def warnings_at(codes: list[str]) -> list[Warned]:
    """The cautions of these kinds of step, each once: first those of what is worked with, then
    those of the vocabulary that belong to them."""
    kinds = [kind for kind in step_kinds() if kind["code"] in codes]
    found = [one for one in traits() if any(one["code"] in kind["traits"] for kind in kinds)]
    named = {one["caution"] for one in found} | {
        caution for kind in kinds for caution in kind["cautions"]
    }
    return [_of_trait(one) for one in found] + [
        _of_vocabulary(one) for one in vocabulary.cautions() if one["code"] in named
    ]


def _of_trait(trait: Entry) -> Warned:
    lines = tuple((line["about"], line["text"]) for line in trait["lines"])
    return Warned(trait["code"], trait["name"], lines, trait["defer"])


def _of_vocabulary(caution: Entry) -> Warned:
    lines = tuple(("", sentence) for sentence in caution["text"])
    return Warned(caution["code"], caution["name"], lines, caution["defer"])


def warnings_by_kind() -> list[tuple[str, Warned]]:
    """(codes of the kinds of step, with a space between, and the caution) of every caution at a
    step, for a form that shows those of the kind that is chosen."""
    by_code: dict[str, Warned] = {}
    kinds: dict[str, list[str]] = {}
    for kind in step_kinds():
        for one in warnings_at([kind["code"]]):
            by_code[one.code] = one
            kinds.setdefault(one.code, []).append(kind["code"])
    return [(" ".join(kinds[code]), one) for code, one in by_code.items()]
