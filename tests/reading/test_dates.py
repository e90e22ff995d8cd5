"""Questions about dates: the rules as data, and what is asked of an object."""

import json
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from survey.access.models import Person
from survey.catalogue.models import Object
from survey.reading.dating.rules import DATA, STRENGTHS, Fact, against, rules
from survey.reading.models import DateAnswer, PaperNote, Reading
from survey.reading.queries import date_questions
from survey.reading.services import answer_date, note_paper
from tests.factories import (
    ExaminationFactory,
    ObjectFactory,
    ObservationFactory,
    PersonFactory,
    WatermarkFactory,
)

BY_CODE = {rule.code: rule for rule in rules()}
ENTRIES = json.loads(DATA.read_text(encoding="utf-8"))


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry["code"])
def test_a_rule_says_what_it_asks_why_and_on_whose_word(entry: dict[str, Any]) -> None:
    assert entry["strength"] in STRENGTHS
    assert entry["question"].endswith("?")
    assert entry["why"].endswith(".") and entry["source"] and entry["looks_at"] and entry["when"]
    years = [entry.get(name) for name in ("earliest_year", "latest_year", "allowance_years")]
    assert any(year is not None for year in years)


def test_codes_are_used_once() -> None:
    assert len(BY_CODE) == len(ENTRIES)


@pytest.mark.parametrize(
    ("rule", "value", "span", "dated", "asks"),
    [
        ("wove", "wove", None, (1700, 1756), True),
        ("wove", "wove", None, (1700, 1757), False),
        ("wove", "wove", None, (1800, 1810), False),
        ("wove", "laid", None, (1700, 1710), False),
        ("wove", "wove", None, (None, None), False),
        ("wove", "wove", None, (None, 1700), True),
        ("chain-shadows", "yes", None, (1821, 1850), True),
        ("chain-shadows", "yes", None, (1820, 1850), False),
        ("brightener", "yes", None, (1920, 1949), True),
        ("brightener", "yes", None, (1920, 1950), False),
        ("mechanical-wood", "mechanical-wood", None, (1830, 1835), True),
        ("watermark-identical", "identical", (1600, 1606), (1621, 1625), False),
        ("watermark-identical", "identical", (1600, 1606), (1622, 1625), True),
        ("watermark-identical", "identical", (1600, 1606), (1570, 1584), True),
        ("watermark-identical", "identical", (1600, 1606), (1570, 1585), False),
        ("watermark-type", "type", (1600, 1606), (1622, 1625), False),
        ("watermark-identical", "identical", None, (1622, 1625), False),
    ],
)
def test_a_rule_asks_only_when_no_year_of_the_date_agrees(
    rule: str, value: str, span: Any, dated: Any, asks: bool
) -> None:
    [name] = BY_CODE[rule].when
    found = against(BY_CODE[rule], [Fact(name, value, "Seen.", span)], *dated)
    assert (found is not None) == asks


def test_a_rule_of_two_facts_needs_both() -> None:
    laid, machine = Fact("make", "laid", "Laid."), Fact("machine_made", "yes", "By machine.")
    rule = BY_CODE["laid-machine"]
    assert against(rule, [laid], 1700, 1710) is None
    assert against(rule, [machine], 1700, 1710) is None
    found = against(rule, [laid, machine], 1700, 1710)
    assert found is not None and found.evidence == (laid, machine)


def test_one_of_two_watermarks_that_agrees_is_enough() -> None:
    near, far = (Fact("watermark", "identical", "Seen.", (year, year)) for year in (1620, 1750))
    rule = BY_CODE["watermark-identical"]
    assert against(rule, [far], 1618, 1625) is not None
    assert against(rule, [far, near], 1618, 1625) is None


def asked(obj: Object) -> list[str]:
    return [question.rule.code for question in date_questions(obj)]


def old(**fields: Any) -> Object:
    made: Object = ObjectFactory(
        **{"earliest_year": 1640, "latest_year": 1650, "date_text": "1640s",
           "support": "Laid paper"} | fields
    )  # fmt: skip
    return made


def read_as(obj: Object, kind: str, result: dict[str, Any]) -> Reading:
    return Reading.objects.create(
        kind=kind, examination=ExaminationFactory(object=obj), state="done", result=result
    )


@pytest.mark.django_db
def test_paper_that_agrees_raises_no_question() -> None:
    obj = old()
    read_as(obj, "paper", {"make": "laid"})
    WatermarkFactory(examination__object=obj, match="variant", repertory_from_year=1640)
    assert asked(obj) == []


@pytest.mark.django_db
def test_each_kind_of_evidence_is_gathered_with_where_it_is_known_from() -> None:
    obj = old(support="Machine-made paper")
    read_as(obj, "paper", {"make": "wove"})
    read_as(obj, "ultraviolet", {"brightener": True})
    WatermarkFactory(
        examination__object=obj, motif="Pot", match="variant", repertory="Marks of the Elder mills",
        repertory_number="412", repertory_place="Aldermere", repertory_from_year=1712,
        repertory_to_year=1718,
    )  # fmt: skip
    questions = {question.rule.code: question for question in date_questions(obj)}
    assert set(questions) == {"wove", "machine-made", "brightener", "watermark-variant"}
    assert questions["machine-made"].evidence == (
        "The catalogue calls the support “Machine-made paper”.",
    )
    assert questions["wove"].evidence[0].startswith("Wove paper, read from photographs on ")
    assert questions["watermark-variant"].evidence == (
        "Watermark “Pot”: a variant in Marks of the Elder mills 412, Aldermere, 1712–1718.",
    )
    assert questions["watermark-variant"].agreeing == "about 1687 to 1743"
    assert questions["brightener"].agreeing == "1950 or later"
    assert questions["wove"].date == "1640s"
    assert list(questions)[-1] == "watermark-variant", "the weaker one comes last"


@pytest.mark.django_db
def test_chain_shadows_speak_against_a_late_date() -> None:
    obj = old(earliest_year=1900, latest_year=1910)
    ObservationFactory(examination__object=obj, term_id="chain-shadows", term=None)
    assert asked(obj) == ["chain-shadows"]


@pytest.mark.django_db
def test_a_reading_counts_as_it_was_corrected() -> None:
    obj = old()
    reading = read_as(obj, "paper", {"make": "wove"})
    assert asked(obj) == ["wove"]
    reading.corrections.create(changes={}, result={"make": "laid"}, person=PersonFactory())
    assert asked(obj) == []


@pytest.mark.django_db
def test_of_what_the_conservator_says_nothing_else_is_asked() -> None:
    obj, person = old(support="Paper with mechanical wood pulp"), PersonFactory()
    read_as(obj, "ultraviolet", {"brightener": True})
    assert asked(obj) == ["mechanical-wood", "brightener"]
    note_paper(obj, person, {"furnish": "rag", "brightener_seen": "no"})
    assert asked(obj) == []
    note_paper(obj, person, {"furnish": "chemical-wood", "machine_made": "yes"})
    assert asked(obj) == ["machine-made", "chemical-wood"]
    assert PaperNote.objects.get().brightener_seen == "no"


@pytest.mark.django_db
def test_an_object_without_a_date_is_not_asked_about() -> None:
    assert asked(old(earliest_year=None, latest_year=None, support="Wove paper")) == []


@pytest.mark.django_db
def test_questions_take_a_number_of_queries_that_does_not_grow(
    django_assert_max_num_queries: Any,
) -> None:
    obj = old(support="Wove paper")
    for _ in range(5):
        read_as(obj, "paper", {"make": "wove"})
        WatermarkFactory(examination__object=obj, match="type", repertory_from_year=1800)
    with django_assert_max_num_queries(6):
        assert asked(obj)


@pytest.mark.django_db
def test_an_answer_stands_until_the_evidence_reads_otherwise() -> None:
    obj, person = old(support="Wove paper"), PersonFactory()
    assert date_questions(obj)[0].is_open
    answer_date(obj, "wove", person, "agrees", "Lined with wove paper in the 19th century.")
    [question] = date_questions(obj)
    assert question.answer is not None and question.answer.person == person
    assert not question.is_open and not question.is_changed
    read_as(obj, "paper", {"make": "wove"})
    [question] = date_questions(obj)
    assert question.is_changed and question.is_open
    answer_date(obj, "wove", person, "open", "")
    assert date_questions(obj)[0].is_open
    assert DateAnswer.objects.count() == 2


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("rule", "answer", "reason", "field"),
    [
        ("weather", "agrees", "", "rule"),
        ("wove", "perhaps", "", "answer"),
        ("wove", "does-not", " ", "reason"),
    ],
)
def test_it_checks_an_answer(rule: str, answer: str, reason: str, field: str) -> None:
    with pytest.raises(ValidationError) as error:
        answer_date(old(), rule, PersonFactory(), answer, reason)
    assert set(error.value.message_dict) == {field}
    assert not DateAnswer.objects.exists()


@pytest.mark.django_db
def test_it_checks_a_note_and_who_writes_it() -> None:
    with pytest.raises(ValidationError) as error:
        note_paper(old(), PersonFactory(), {"furnish": "gold"})
    assert set(error.value.message_dict) == {"furnish"}
    with pytest.raises(PermissionDenied):
        note_paper(old(), PersonFactory(role=Person.Role.COURIER), {"furnish": "rag"})
