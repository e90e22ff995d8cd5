"""The kinds of readings, one module each; see ``job.Kind`` for what a module gives."""

from survey.reading.kinds import align, changes, colour, paper, relief, ultraviolet, watermark
from survey.reading.kinds.job import Kind
from survey.reading.trouble import CannotAsk

# In the order in which they are best read: others lean on the alignment.
KINDS: dict[str, Kind] = {
    "align": align.KIND,
    "paper": paper.KIND,
    "watermark": watermark.KIND,
    "relief": relief.KIND,
    "ultraviolet": ultraviolet.KIND,
    "colour": colour.KIND,
    "changes": changes.KIND,
}


def of(name: str) -> Kind:
    """Raises CannotAsk for a kind that there is not."""
    try:
        return KINDS[name]
    except KeyError:
        raise CannotAsk(
            f"There is no reading called “{name}”: choose one of {', '.join(KINDS)}."
        ) from None
