"""The artists of the collection: 160 people who never lived."""

from dataclasses import dataclass

from survey.demo.museum.names import TONGUES, Tongue, person_name
from survey.demo.sheet.noise import stream


@dataclass(frozen=True)
class Maker:
    name: str
    tongue: Tongue
    born: int
    died: int

    @property
    def in_words(self) -> str:
        return f"{self.name} ({self.tongue.adjective}, {self.born}–{self.died})"

    def was_working(self, earliest: int, latest: int) -> bool:
        return self.born + 20 <= latest and earliest <= self.died


def makers(seed: int, count: int = 160) -> list[Maker]:
    """Spread over the centuries from 1450, no two of one name."""
    random = stream(seed, "makers")
    found: dict[str, Maker] = {}
    while len(found) < count:
        tongue = TONGUES[int(random.choice(len(TONGUES), p=(0.34, 0.18, 0.14, 0.14, 0.12, 0.08)))]
        name = person_name(random, tongue)
        born = int(1450 + 480 * random.random() ** 0.75)
        died = born + int(random.integers(34, 86))
        if name not in found:
            found[name] = Maker(name, tongue, born, min(died, 2009))
    return list(found.values())
