"""The priority rule, as pure functions: facts in, hazards and an explained score out.

The rule is the department's own; it follows no published source. It has two steps.

1. Hazards that cannot wait. Any observation that is damage, or not yet decided, and whose
   term raises a hazard, and any hazard the examiner raised by hand: act now, whatever the
   score.

2. A score from 0 to 100, in five parts. A part's measure lies between 0 and 1; its maximum
   is its weight as a share of all weights, times 100; its points are the measure times the
   maximum. Maxima, points and score are kept in whole tenths of a point, so that what is
   shown adds up exactly. In each formula:

   severity   slight 1/4, moderate 1/2, severe 1; not said counts as moderate
   extent     one place 2/5, several places 1/2, along an edge 3/5, a whole area 4/5,
              overall 1; not said counts as several places
   nature     damage 1, not yet decided 1/2, feature of making 0
   tendency   how readily this kind of damage goes on if nothing is done: 1 for any term that
              raises a hazard; otherwise by group: biological 9/10, media 4/5, attachments and
              mounts 7/10, support structure 3/5, earlier repairs 2/5, discoloration 3/10,
              support surface 3/10, features of making 1/10

   risk if left       the greatest of: the grade (good 0, fair 1/4, poor 1/2, unstable 1, not
                      graded 1/4), and for each observation
                      nature × tendency × severity × (1/2 + extent/2)
   loss already seen  1 − Π (1 − nature × severity × extent) over all observations: each damage
                      takes its share of what the others left whole
   significance       exceptional 1, high 3/4, medium 1/2, low 1/4; not assessed counts as medium
   need               the greatest over the needs of kind × nearness: loan 1, exhibition 1,
                      research 3/5; nearness is 1 up to 14 days before the date and after it,
                      falls evenly to 1/10 at 182 days, and stays there; with no date 1/4
   readiness          one third each: space found, materials at hand, and the share of the five
                      lights under which the sheet was photographed

Rows stand by score, highest first; equal scores by the nearest date of a need, then by
accession number. Measures are reckoned exactly and rounded once: a worse condition can never
lower a score, and the order of the rows can change nothing.
"""

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import cached_property
from math import prod

from survey.apportion import apportioned

PARTS = ("risk", "loss", "significance", "need", "readiness")
PART_NAMES = {
    "risk": "Risk if left",
    "loss": "Loss already seen",
    "significance": "Significance",
    "need": "Need",
    "readiness": "Readiness",
}
FULL_TENTHS = 1000
HEAVIEST = 1000
LIGHTS = ("normal", "raking", "transmitted", "specular", "ultraviolet")

# Steps are whole numbers of a common unit, so that all reckoning is exact, and quick.
SEVERITY = {"slight": 1, "moderate": 2, "": 2, "severe": 4}  # quarters
EXTENT = {"spot": 4, "several": 5, "": 5, "edge": 6, "area": 8, "overall": 10}  # tenths
NATURE = {"feature": 0, "unsure": 1, "damage": 2}  # halves
TENDENCY = {  # tenths
    "biological": 9,
    "media": 8,
    "attachments": 7,
    "support-structure": 6,
    "repairs": 4,
    "discoloration": 3,
    "support-surface": 3,
    "making": 1,
}
GRADE = {"good": 0, "fair": 1, "": 1, "poor": 2, "unstable": 4}  # quarters
SIGNIFICANCE = {"low": 1, "medium": 2, "unassessed": 2, "high": 3, "exceptional": 4}  # quarters
NEED = {"research": 6, "exhibition": 10, "loan": 10}  # tenths
WHOLE_LOSS = 2 * 4 * 10
WHOLE_RISK = 2 * 10 * 4 * 20
NEAR_DAYS = 14
FAR_DAYS = 182
# Nearness falls by 9/10 over these days; kinds count in tenths.
WHOLE_NEED = 10 * 10 * (FAR_DAYS - NEAR_DAYS)

SEVERITY_WORDS = {
    "": "severity not said, counted as moderate",
    "slight": "slight",
    "moderate": "moderate",
    "severe": "severe",
}
EXTENT_WORDS = {
    "": "extent not said, counted as several places",
    "spot": "one place",
    "several": "several places",
    "edge": "along an edge",
    "area": "a whole area",
    "overall": "overall",
}


@dataclass(frozen=True)
class Seen:
    """One observation. Codes as in the examination models; ``hazards`` are those its term raises.

    ``remark`` is added to its sentences, for example what an amendment changed.
    """

    id: str
    term: str
    group: str
    nature: str = "damage"
    extent: str = ""
    severity: str = ""
    side: str = "recto"
    hazards: tuple[str, ...] = ()
    remark: str = ""


@dataclass(frozen=True)
class Needed:
    """Why the object is wanted (exhibition, loan, research), and by when."""

    kind: str
    title: str
    due: date | None = None


@dataclass(frozen=True)
class Facts:
    """All the rule looks at for one object and one piece of recommended work."""

    today: date
    accession_number: str = ""
    grade: str = ""
    seen: tuple[Seen, ...] = ()
    raised: frozenset[str] = frozenset()
    significance: str = "unassessed"
    needs: tuple[Needed, ...] = ()
    lights: frozenset[str] = frozenset()
    space: bool = False
    materials: bool = False


@dataclass(frozen=True)
class Weights:
    """The department's weights: whole numbers from 0 to HEAVIEST, at least one above 0."""

    risk: int = 35
    loss: int = 20
    significance: int = 20
    need: int = 15
    readiness: int = 10


@dataclass(frozen=True)
class Alarm:
    """One hazard that cannot wait, and the observation that shows it (None: raised by hand)."""

    hazard: str
    sentence: str
    observation: str | None = None


@dataclass(frozen=True)
class Cause:
    """One thing behind a line, with its part of the line's points, in tenths of a point."""

    sentence: str
    tenths: int
    observation: str | None = None

    @property
    def points(self) -> float:
        return self.tenths / 10


@dataclass(frozen=True)
class Line:
    """One part of the score: points out of a maximum, and why.

    measure  exact, from 0 to 1; the points are this share of the maximum, rounded
    """

    part: str
    measure: Fraction
    maximum_tenths: int
    sentence: str
    causes: tuple[Cause, ...] = ()

    @cached_property
    def tenths(self) -> int:
        return _tenths(self.measure, self.maximum_tenths)

    @property
    def name(self) -> str:
        return PART_NAMES[self.part]

    @property
    def points(self) -> float:
        return self.tenths / 10

    @property
    def maximum(self) -> float:
        return self.maximum_tenths / 10


@dataclass(frozen=True)
class Score:
    """The lines in the order of PARTS. Their points add up to the score exactly."""

    lines: tuple[Line, ...]
    tenths: int = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "tenths", sum(line.tenths for line in self.lines))

    @property
    def points(self) -> float:
        return self.tenths / 10


def hazards_now(facts: Facts) -> tuple[Alarm, ...]:
    """The hazards that cannot wait, by code, each with the observation that shows it."""
    alarms = [
        Alarm(hazard, f"{_said_of(seen)}.{_after(seen.remark)}", seen.id)
        for seen in facts.seen
        if NATURE[seen.nature] > 0
        for hazard in seen.hazards
    ]
    shown = {alarm.hazard for alarm in alarms}
    alarms += [
        Alarm(hazard, "Raised by the examiner with the recommendation.")
        for hazard in facts.raised - shown
    ]
    return tuple(
        sorted(alarms, key=lambda alarm: (alarm.hazard, alarm.sentence, alarm.observation or ""))
    )


def score(facts: Facts, weights: Weights) -> Score:
    """The score of one row. Raises ValueError, with a sentence, for weights that say nothing."""
    maxima = maxima_tenths(weights)
    makers = {
        "risk": _risk,
        "loss": _loss,
        "significance": _significance,
        "need": _need,
        "readiness": _readiness,
    }
    return Score(tuple(makers[part](facts, maxima[part]) for part in PARTS))


def place_key(facts: Facts, scored: Score) -> tuple[int, date, str]:
    """Sort rows by this: score, then the nearest date of a need, then accession number."""
    dates = [need.due for need in facts.needs if need.due]
    return (-scored.tenths, min(dates, default=date.max), facts.accession_number)


def check_weights(weights: Weights) -> None:
    """Raises ValueError, with a sentence, unless the weights can put rows in order."""
    values = [getattr(weights, part) for part in PARTS]
    if min(values) < 0:
        raise ValueError("A weight cannot be below zero. Give zero to leave a part out.")
    if max(values) > HEAVIEST:
        raise ValueError(f"A weight is at most {HEAVIEST}: only their proportion counts.")
    if sum(values) == 0:
        raise ValueError(
            "All weights are zero, so nothing can be put in order. "
            "Give at least one part a weight above zero."
        )


def in_words(day: date) -> str:
    """``3 May 2026``."""
    return f"{day.day} {day:%B %Y}"


def time_until(due: date, today: date) -> str:
    """``in 12 days``, ``in 7 weeks``, ``today``, ``passed 3 days ago``."""
    days = (due - today).days
    if days == 0:
        return "today"
    if days < 0:
        return f"passed {counted(-days, 'day')} ago"
    return f"in {counted(days, 'day')}" if days < 21 else f"in {days // 7} weeks"


def maxima_tenths(weights: Weights) -> dict[str, int]:
    """The most tenths of a point each part can give. Raises ValueError, with a sentence."""
    check_weights(weights)
    wanted = [getattr(weights, part) for part in PARTS]
    return dict(zip(PARTS, apportioned(FULL_TENTHS, wanted), strict=True))


def _tenths(measure: Fraction, maximum: int) -> int:
    """This share of a maximum, to the nearest whole tenth of a point."""
    return round(measure * maximum)


def _risk_of(seen: Seen) -> int:
    """nature × tendency × severity × (1/2 + extent/2), of WHOLE_RISK."""
    tendency = 10 if seen.hazards else TENDENCY[seen.group]
    return NATURE[seen.nature] * tendency * SEVERITY[seen.severity] * (10 + EXTENT[seen.extent])


def _loss_of(seen: Seen) -> int:
    """nature × severity × extent, of WHOLE_LOSS."""
    return NATURE[seen.nature] * SEVERITY[seen.severity] * EXTENT[seen.extent]


def _risk(facts: Facts, maximum: int) -> Line:
    worst = max(facts.seen, key=lambda seen: (_risk_of(seen), seen.term, seen.id), default=None)
    of_worst = _risk_of(worst) if worst else 0
    of_grade = GRADE[facts.grade] * WHOLE_RISK // 4
    measure = Fraction(max(of_grade, of_worst), WHOLE_RISK)
    tenths = _tenths(measure, maximum)
    if worst and of_worst >= of_grade and of_worst > 0:
        sentence = f"{_described(worst)}: would go on if left."
        cause = Cause(sentence + _after(worst.remark), tenths, worst.id)
    elif not facts.grade:
        sentence = "No overall grade was given: counted as fair."
        cause = Cause(sentence, tenths)
    else:
        sentence = f"Graded {facts.grade}, and no single observation weighs more."
        cause = Cause(sentence, tenths)
    return Line("risk", measure, maximum, sentence, (cause,))


def _loss(facts: Facts, maximum: int) -> Line:
    damages = sorted(
        (seen for seen in facts.seen if _loss_of(seen) > 0),
        key=lambda seen: (-_loss_of(seen), seen.term, seen.id),
    )
    if not damages:
        return Line("loss", Fraction(0), maximum, "No damage was recorded.")
    left_whole = prod(WHOLE_LOSS - _loss_of(seen) for seen in damages)
    measure = 1 - Fraction(left_whole, WHOLE_LOSS ** len(damages))
    parts = apportioned(_tenths(measure, maximum), [_loss_of(seen) for seen in damages])
    causes = tuple(
        Cause(f"{_described(seen)}.{_after(seen.remark)}", part, seen.id)
        for seen, part in zip(damages, parts, strict=True)
    )
    first = _described(damages[0])
    more = f", and {counted(len(damages) - 1, 'more observation')}" if len(damages) > 1 else ""
    return Line("loss", measure, maximum, f"{first}{more}.", causes)


def _significance(facts: Facts, maximum: int) -> Line:
    measure = Fraction(SIGNIFICANCE[facts.significance], 4)
    if facts.significance == "unassessed":
        sentence = "Significance is not assessed: counted as medium."
    else:
        sentence = f"{facts.significance.capitalize()} significance in the catalogue."
    causes = (Cause(sentence, _tenths(measure, maximum)),)
    return Line("significance", measure, maximum, sentence, causes)


def _need_of(need: Needed, today: date) -> int:
    """kind × nearness, of WHOLE_NEED."""
    span = FAR_DAYS - NEAR_DAYS
    if need.due is None:
        return NEED[need.kind] * 10 * span // 4
    days = min(max((need.due - today).days, NEAR_DAYS), FAR_DAYS)
    return NEED[need.kind] * (10 * span - 9 * (days - NEAR_DAYS))


def _need(facts: Facts, maximum: int) -> Line:
    if not facts.needs:
        return Line("need", Fraction(0), maximum, "No exhibition, loan or research waits for it.")
    foremost = min(
        facts.needs,
        key=lambda need: (
            -_need_of(need, facts.today),
            need.due or date.max,
            need.title,
            need.kind,
        ),
    )
    measure = Fraction(_need_of(foremost, facts.today), WHOLE_NEED)
    when = (
        f"{in_words(foremost.due)}, {time_until(foremost.due, facts.today)}"
        if foremost.due
        else "no date set"
    )
    sentence = f"{foremost.kind.capitalize()} “{foremost.title}”: {when}."
    if foremost.due and foremost.due < facts.today:
        sentence += " Give it a new date or take the need away."
    causes = (Cause(sentence, _tenths(measure, maximum)),)
    return Line("need", measure, maximum, sentence, causes)


def _readiness(facts: Facts, maximum: int) -> Line:
    photographed = facts.lights.intersection(LIGHTS)
    each = len(LIGHTS)
    shares = [each * facts.space, each * facts.materials, len(photographed)]
    missing = [light for light in LIGHTS if light not in photographed]
    sentences = [
        "Space found." if facts.space else "No space found yet.",
        "Materials at hand." if facts.materials else "Materials not yet at hand.",
        f"Photographed under all {len(LIGHTS)} lights."
        if not missing
        else f"Photographed under {len(photographed)} of {len(LIGHTS)} lights;"
        f" missing: {', '.join(missing)}.",
    ]
    measure = Fraction(sum(shares), 3 * each)
    parts = apportioned(_tenths(measure, maximum), shares) if any(shares) else [0, 0, 0]
    causes = tuple(Cause(text, part) for text, part in zip(sentences, parts, strict=True))
    return Line("readiness", measure, maximum, " ".join(sentences), causes)


def _described(seen: Seen) -> str:
    """``Tear, severe, along an edge, recto``; what was not said is named with how it counts."""
    words = [seen.term, SEVERITY_WORDS[seen.severity], EXTENT_WORDS[seen.extent], seen.side]
    return ", ".join([*words, *_doubt(seen)])


def _said_of(seen: Seen) -> str:
    """The same without what was not said: for a hazard, nothing of it counts."""
    severity = SEVERITY_WORDS[seen.severity] if seen.severity else ""
    extent = EXTENT_WORDS[seen.extent] if seen.extent else ""
    words = [seen.term, severity, extent, seen.side, *_doubt(seen)]
    return ", ".join(word for word in words if word)


def _doubt(seen: Seen) -> list[str]:
    return ["damage or feature not yet decided"] if seen.nature == "unsure" else []


def _after(remark: str) -> str:
    return f" {remark}" if remark else ""


def counted(number: int, noun: str) -> str:
    """``1 day``, ``3 days``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
