"""What the two conservators say differently of the first sheet on the bench this week."""

from dataclasses import dataclass

from survey.demo.museum.rounds import CONSERVATOR, SECOND


@dataclass(frozen=True)
class Disagreement:
    """Two values of one field, neither author having seen the other's; the second stands.

    about  "examination", or "observation": the first one that holds the second value
    said   the values in the order in which they were given, each with its author
    """

    about: str
    field: str
    said: tuple[tuple[str, str], tuple[str, str]]


DISAGREEMENTS = (
    Disagreement("examination", "grade", ((SECOND, "poor"), (CONSERVATOR, "fair"))),
    Disagreement("observation", "severity", ((SECOND, "severe"), (CONSERVATOR, "moderate"))),
)
