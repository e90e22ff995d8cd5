"""The artists of the collection: 160 people who never lived."""

from dataclasses import dataclass

from survey.demo.museum.names import TONGUES, Tongue, person_name
from survey.demo.sheet.noise import stream

# Well-known family names that the parts could come near to. A maker is never called so.
KNOWN = frozenset({
    "Bellini", "Bellotti", "Bellotto", "Carpaccio", "Carracci", "Castiglione", "Correggio",
    "Dürer", "Ferrari", "Fontana", "Friedrich", "Gentileschi", "Giordano", "Hals",
    "Hammershøi", "Hogarth", "Hollar", "Holbein", "Kirchner", "Klee", "Larsson", "Linnell",
    "Marc", "Moore", "Munch", "Nash", "Nolde", "Nordström", "Palmer", "Parmigianino",
    "Piranesi", "Pissarro", "Rembrandt", "Rosenberg", "Rossetti", "Rubens", "Ruisdael",
    "Ruskin", "Scarpa", "Sickert", "Steen", "Steinberg", "Thaulow", "Thoma", "Tiepolo",
    "Turner", "Valckenborch", "Vermeer", "Verney", "Vernet", "Waterhouse", "Westwood",
    "Whistler", "Nordahl", "Ferretti", "Valmarana", "Novelli", "Carminati", "Ferribaldi",
    "Langley", "Thornthwaite", "Penniston", "Eastergaard", "Østergaard", "Vestergaard",
    "Rosendahl", "Rosenlund", "Sundberg", "Sundblad", "Nordstrand", "Lindeman", "Hirschegger",
    "Steinbruck", "Steinhain", "Langshaw", "Coldwick", "Thorndale", "Thornby", "Langdale",
    "Fermault", "Rochambeau", "Lilleby", "Askeland", "Fjellstrand", "Montigliani", "Novendoni",
})  # fmt: skip


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
        if name.split()[-1] not in KNOWN and name not in found:
            found[name] = Maker(name, tongue, born, min(died, 2009))
    return list(found.values())
