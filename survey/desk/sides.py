"""Which side of the sheet a page shows."""

from survey.desk.told import Told
from survey.examination.models import Side


def side_of(seen: Told, asked: str | None) -> str:
    """The side that was asked for, else the first one that was photographed, else the recto."""
    if asked in Side.values:
        return str(asked)
    return next((plate.photograph.side for plate in seen.plates), Side.RECTO.value)


def sides(seen: Told, here: str) -> list[tuple[str, str, bool]]:
    """The sides to choose from: code, name, whether it is shown now."""
    photographed = {plate.photograph.side for plate in seen.plates} | {here}
    return [(code, name, code == here) for code, name in Side.choices if code in photographed]
