"""The rules that ask about a date: data in ``dates.json``, and how one is applied."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

DATA = Path(__file__).parent.parent / "data" / "dates.json"
STRENGTHS = ("weak", "moderate", "strong")


@dataclass(frozen=True)
class Rule:
    """What some evidence of the paper says of the years an object can be of.

    code             a slug, never used again for anything else: answers name it
    looks_at         in words
    when             every one of these facts must have this value
    earliest_year    before which it speaks against the date; None when it does not
    latest_year      after which it does
    allowance_years  for evidence that brings years of its own: how far around them
    strength         weak, moderate or strong
    question, why    for the person, and the source exactly as published, or none
    """

    code: str
    looks_at: str
    when: Mapping[str, str]
    strength: str
    question: str
    why: str
    source: str
    earliest_year: int | None = None
    latest_year: int | None = None
    allowance_years: int | None = None


@dataclass(frozen=True)
class Fact:
    """One thing known of an object's paper.

    name, value  as a rule's ``when`` names them
    sentence     where it is known from, for the person
    years        (first, last) that it brings by itself, such as those of a repertory's entry
    """

    name: str
    value: str
    sentence: str
    years: tuple[int, int] | None = None


@dataclass(frozen=True)
class Asked:
    """A rule that speaks against the date, on this evidence, and the years that would agree."""

    rule: Rule
    evidence: tuple[Fact, ...]
    earliest_year: int | None
    latest_year: int | None


@cache
def rules() -> tuple[Rule, ...]:
    return tuple(Rule(**entry) for entry in json.loads(DATA.read_text(encoding="utf-8")))


def against(
    rule: Rule, facts: Sequence[Fact], earliest: int | None, latest: int | None
) -> Asked | None:
    """The question to ask of an object dated from ``earliest`` to ``latest``, if there is one.

    There is none while any year of the date agrees with the evidence, or the date is not known.
    """
    evidence = tuple(fact for fact in facts if rule.when.get(fact.name) == fact.value)
    if {fact.name for fact in evidence} != set(rule.when):
        return None
    for first, last in _spans(rule, evidence):
        too_early = first is not None and latest is not None and latest < first
        too_late = last is not None and earliest is not None and earliest > last
        if not (too_early or too_late):
            return None
    spans = _spans(rule, evidence)
    if not spans:
        return None
    firsts, lasts = zip(*spans, strict=True)
    return Asked(
        rule,
        evidence,
        None if None in firsts else min(firsts),
        None if None in lasts else max(lasts),
    )


def _spans(rule: Rule, evidence: Sequence[Fact]) -> list[tuple[int | None, int | None]]:
    """The years that agree with the evidence: any one of these spans."""
    if rule.allowance_years is None:
        return [(rule.earliest_year, rule.latest_year)]
    return [
        (fact.years[0] - rule.allowance_years, fact.years[1] + rule.allowance_years)
        for fact in evidence
        if fact.years is not None
    ]
