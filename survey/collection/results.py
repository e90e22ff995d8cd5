"""What a survey tells of the whole store: lines of estimates, overall and for each stratum."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from survey.collection.estimates import (
    Counted,
    Estimate,
    Measured,
    boxes_for,
    share_of,
    total_of,
)
from survey.collection.models import CollectionSurvey, SurveyStratum
from survey.collection.queries import Found, Stand, State, stands_of
from survey.vocabulary import queries as vocabulary

NOT_GRADED = "Not graded"


@dataclass(frozen=True)
class Cell:
    """One estimate, with what it rests on.

    size    objects in the stratum; overall, in all strata of which some were seen
    having  how many of those seen have what is counted; None for totals
    """

    estimate: Estimate
    size: int
    seen: int
    having: int | None = None


@dataclass(frozen=True)
class Line:
    """One thing that was estimated: overall, and for each stratum in their order."""

    code: str
    name: str
    overall: Cell
    strata: tuple[Cell, ...]

    @property
    def parts(self) -> tuple[Cell, ...]:
        """The strata, where there is more than the one that is the whole."""
        return self.strata if len(self.strata) > 1 else ()


@dataclass(frozen=True)
class Reached:
    """How far the walk came in one stratum."""

    stratum: SurveyStratum
    drawn: int
    seen: int
    missing: int

    @property
    def waiting(self) -> int:
        return self.drawn - self.seen - self.missing


@dataclass(frozen=True)
class Results:
    """Shares are of objects; ``hours`` and ``boxes`` are totals of the store.

    grades     best first; those not graded last, where there are any
    damage     each damage that was seen, the most frequent first; features likewise, apart
    undecided  how many objects have a term that may be either
    unpriced   recommendations that name no hours and count as none
    """

    survey: CollectionSurvey
    reached: tuple[Reached, ...]
    grades: tuple[Line, ...]
    damage: tuple[Line, ...]
    features: tuple[Line, ...]
    hours: Line
    rehouse: Line
    boxes: Line
    undecided: int
    unpriced: int

    @property
    def parts(self) -> tuple[Reached, ...]:
        """The strata, where there is more than the one that is the whole."""
        return self.reached if len(self.reached) > 1 else ()

    @property
    def size(self) -> int:
        return sum(one.stratum.size for one in self.reached)

    @property
    def drawn(self) -> int:
        return sum(one.drawn for one in self.reached)

    @property
    def seen(self) -> int:
        return sum(one.seen for one in self.reached)

    @property
    def missing(self) -> int:
        return sum(one.missing for one in self.reached)

    @property
    def waiting(self) -> int:
        return sum(one.waiting for one in self.reached)

    @property
    def not_reached(self) -> list[str]:
        """Strata of which nothing was seen: no estimate speaks for them."""
        return [one.stratum.name for one in self.reached if not one.seen]


def results_of(survey: CollectionSurvey, stands: Sequence[Stand] | None = None) -> Results:
    """What the examinations signed so far tell. Seven queries, however large the sample is."""
    strata = list(survey.strata.all())
    stands = stands_of(survey) if stands is None else stands
    by_stratum: dict[int, list[Stand]] = {stratum.pk: [] for stratum in strata}
    for stand in stands:
        by_stratum[stand.place.stratum_id].append(stand)
    table = _Table(
        survey.confidence_percent / 100,
        [stratum.size for stratum in strata],
        [
            [stand.found for stand in by_stratum[stratum.pk] if stand.found is not None]
            for stratum in strata
        ],
    )
    rehouse = table.share("rehouse", "Rehousing recommended", lambda found: found.rehouse)
    return Results(
        survey=survey,
        reached=tuple(
            Reached(
                stratum,
                len(of_stratum),
                sum(stand.state is State.EXAMINED for stand in of_stratum),
                sum(stand.state is State.MISSING for stand in of_stratum),
            )
            for stratum, of_stratum in zip(strata, by_stratum.values(), strict=True)
        ),
        grades=_grades(table),
        damage=_terms(table, lambda found: found.damage),
        features=_terms(table, lambda found: found.features),
        hours=table.total("hours", "Hours of recommended work", lambda found: found.hours),
        rehouse=rehouse,
        boxes=_boxes(rehouse, survey.objects_a_box),
        undecided=sum(bool(found.undecided) for found in table.all_found),
        unpriced=sum(found.unpriced for found in table.all_found),
    )


class _Table:
    """The strata with what was found in each, ready to be counted in any way."""

    def __init__(
        self, confidence: float, sizes: Sequence[int], found: Sequence[Sequence[Found]]
    ) -> None:
        self._confidence = confidence
        self._strata = list(zip(sizes, found, strict=True))
        self.all_found = [one for of_stratum in found for one in of_stratum]
        # Of a stratum that was not reached nothing is said.
        self._size = sum(size for size, of_stratum in self._strata if of_stratum)

    def share(self, code: str, name: str, has: Callable[[Found], bool]) -> Line:
        counted = [Counted(size, len(found), sum(map(has, found))) for size, found in self._strata]

        def cell(strata: Sequence[Counted], size: int) -> Cell:
            return Cell(
                share_of(strata, self._confidence),
                size,
                sum(one.seen for one in strata),
                sum(one.having for one in strata),
            )

        each = tuple(cell([one], one.size) for one in counted)
        return Line(code, name, cell(counted, self._size), each)

    def total(self, code: str, name: str, number: Callable[[Found], float]) -> Line:
        measured = [Measured(size, tuple(map(number, found))) for size, found in self._strata]

        def cell(strata: Sequence[Measured], size: int) -> Cell:
            seen = sum(len(one.values) for one in strata)
            return Cell(total_of(strata, self._confidence), size, seen)

        each = tuple(cell([one], one.size) for one in measured)
        return Line(code, name, cell(measured, self._size), each)


def _grades(table: _Table) -> tuple[Line, ...]:
    lines = [
        table.share(grade["code"], grade["name"], lambda found, c=grade["code"]: found.grade == c)  # type: ignore[misc]
        for grade in vocabulary.grades()
    ]
    if any(not found.grade for found in table.all_found):
        lines.append(table.share("", NOT_GRADED, lambda found: not found.grade))
    return tuple(lines)


def _terms(table: _Table, terms: Callable[[Found], frozenset[str]]) -> tuple[Line, ...]:
    seen = frozenset().union(*map(terms, table.all_found))
    names = {term["code"]: term["name"] for term in vocabulary.terms()} if seen else {}
    lines = [
        table.share(code, names.get(code, code), lambda found, c=code: c in terms(found))  # type: ignore[misc]
        for code in seen
    ]
    return tuple(
        sorted(
            lines,
            key=lambda line: (
                -(line.overall.estimate.value or 0.0),
                -(line.overall.having or 0),
                line.name.casefold(),
            ),
        )
    )


def _boxes(rehouse: Line, objects_a_box: int) -> Line:
    def cell(one: Cell) -> Cell:
        objects = one.estimate.times(one.size)
        return Cell(boxes_for(objects, objects_a_box), one.size, one.seen, one.having)

    return Line("boxes", "New boxes", cell(rehouse.overall), tuple(map(cell, rehouse.strata)))
