"""The kinds of readings, one module each; see ``job.Kind`` for what a module gives."""

from importlib import import_module

from survey.reading.kinds.job import Kind
from survey.reading.trouble import CannotAsk


def _present() -> dict[str, Kind]:
    """Those whose part of imaging is there already."""
    found = {}
    for name in ("align", "paper", "watermark", "relief", "ultraviolet", "colour"):
        try:
            found[name] = import_module(f"survey.reading.kinds.{name}").KIND
        except (ImportError, AttributeError):
            continue
    return found


# In the order in which they are best read: others lean on the alignment.
KINDS: dict[str, Kind] = _present()


def of(name: str) -> Kind:
    """Raises CannotAsk for a kind that there is not."""
    try:
        return KINDS[name]
    except KeyError:
        raise CannotAsk(
            f"There is no reading called “{name}”: choose one of {', '.join(KINDS)}."
        ) from None
