"""Questions about an object's date: for the conservator to answer, never a verdict."""

from dataclasses import dataclass

from survey.catalogue.models import Object
from survey.reading.dating.evidence import facts_of
from survey.reading.dating.rules import Asked, Rule, against, rules
from survey.reading.models import DateAnswer


@dataclass(frozen=True)
class DateQuestion:
    """One question, what it rests on, and the answer if one was given.

    evidence    sentences: what is known of the paper, and from where
    date        the object's date as the catalogue tells it
    agreeing    the years that would agree, in words
    answer      the last one given, or None
    is_changed  whether the evidence reads otherwise now than when it was answered
    """

    rule: Rule
    evidence: tuple[str, ...]
    date: str
    agreeing: str
    answer: DateAnswer | None

    @property
    def question(self) -> str:
        return self.rule.question

    @property
    def is_changed(self) -> bool:
        return self.answer is not None and self.answer.evidence != " ".join(self.evidence)

    @property
    def is_open(self) -> bool:
        """Whether a person should still look at it."""
        return (
            self.answer is None or self.is_changed or self.answer.answer == DateAnswer.Answer.OPEN
        )


def date_questions(obj: Object) -> list[DateQuestion]:
    """Where the paper seems to speak against the object's date, strongest first."""
    if obj.earliest_year is None and obj.latest_year is None:
        return []
    facts = facts_of(obj)
    # A date told by one year only.
    earliest = obj.earliest_year if obj.earliest_year is not None else obj.latest_year
    latest = obj.latest_year if obj.latest_year is not None else obj.earliest_year
    asked = [one for rule in rules() if (one := against(rule, facts, earliest, latest))]
    if not asked:
        return []
    answers: dict[str, DateAnswer] = {}
    given = DateAnswer.objects.filter(object=obj).select_related("person")
    for answer in given.order_by("at", "pk"):
        answers[answer.rule] = answer
    order = {"strong": 0, "moderate": 1, "weak": 2}
    asked.sort(key=lambda one: order[one.rule.strength])
    return [
        DateQuestion(
            rule=one.rule,
            evidence=tuple(fact.sentence for fact in one.evidence),
            date=obj.date_text or _years(obj.earliest_year, obj.latest_year),
            agreeing=_agreeing(one),
            answer=answers.get(one.rule.code),
        )
        for one in asked
    ]


def _agreeing(asked: Asked) -> str:
    first, last = asked.earliest_year, asked.latest_year
    if first is not None and last is not None:
        return f"about {first} to {last}"
    return f"{first} or later" if first is not None else f"{last} or earlier"


def _years(first: int | None, last: int | None) -> str:
    told = [year for year in (first, last) if year is not None]
    return "–".join(str(year) for year in dict.fromkeys(told))
