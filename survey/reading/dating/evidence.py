"""What is known of an object's paper that may speak for or against its date."""

from collections.abc import Iterator

from survey.catalogue.models import Object
from survey.examination.models import Observation, Watermark
from survey.reading.dating.rules import Fact
from survey.reading.models import PaperNote, Reading

# Words of a catalogue's support, and what they say.
SUPPORT_WORDS = {
    "wove": ("make", "wove"),
    "laid": ("make", "laid"),
    "machine-made": ("machine_made", "yes"),
    "mechanical wood": ("furnish", "mechanical-wood"),
    "chemical wood": ("furnish", "chemical-wood"),
}


def facts_of(obj: Object) -> list[Fact]:
    """Every fact, in four database queries. What the conservator says comes first, and of a
    thing that they spoke of nothing else is asked."""
    said = list(_said(obj))
    spoken_of = {fact.name for fact in said}
    return [
        *(fact for fact in said if fact.value not in ("no", "")),
        *(
            fact
            for facts in (_read(obj), _observed(obj), _catalogued(obj), _watermarks(obj))
            for fact in facts
            if fact.name not in spoken_of
        ),
    ]


def _said(obj: Object) -> Iterator[Fact]:
    note = PaperNote.objects.filter(object=obj).select_related("person").first()
    if note is None:
        return
    by = f"by {note.person.name}, {note.at:%-d %B %Y}"
    if note.wove:
        make = "wove" if note.wove == "yes" else "laid"
        yield Fact("make", make, f"Called {'wove' if make == 'wove' else 'not wove'} {by}.")
    if note.furnish:
        yield Fact(
            "furnish", note.furnish, f"Furnish: {note.get_furnish_display().lower()}, noted {by}."
        )
    for name, value, what in (
        ("machine_made", note.machine_made, "Machine-made"),
        ("brightener", note.brightener_seen, "Optical brightener seen"),
        ("chlorine_bleached", note.chlorine_bleached, "Bleached with chlorine"),
    ):
        if value:
            yield Fact(name, value, f"{what}: {value}, noted {by}.")


def _read(obj: Object) -> Iterator[Fact]:
    readings = (
        Reading.objects.filter(
            examination__object=obj,
            examination__deleted_at=None,
            kind__in=[Reading.Kind.PAPER, Reading.Kind.ULTRAVIOLET],
            state=Reading.State.DONE,
        )
        .prefetch_related("corrections")
        .order_by("-asked_at", "-id")
    )
    seen: set[str] = set()
    for reading in readings:
        if reading.kind in seen:
            continue
        seen.add(reading.kind)
        result = reading.stands or {}
        when = f"read from photographs on {reading.asked_at:%-d %B %Y}"
        if reading.kind == Reading.Kind.PAPER and result.get("make") in ("laid", "wove"):
            yield Fact("make", result["make"], f"{result['make'].capitalize()} paper, {when}.")
        if reading.kind == Reading.Kind.ULTRAVIOLET and result.get("brightener"):
            yield Fact("brightener", "yes", f"The sheet shines blue-white under the lamp, {when}.")


def _observed(obj: Object) -> Iterator[Fact]:
    seen = Observation.objects.filter(
        examination__object=obj,
        examination__deleted_at=None,
        deleted_at=None,
        term="chain-shadows",
    ).select_related("examination")
    first = seen.order_by("-examination__started_at").first()
    if first is not None:
        yield Fact(
            "chain_shadows",
            "yes",
            f"Chain shadows were seen on {first.examination.started_at:%-d %B %Y}.",
        )


def _catalogued(obj: Object) -> Iterator[Fact]:
    words = obj.support.lower()
    for word, (name, value) in SUPPORT_WORDS.items():
        if word in words:
            yield Fact(name, value, f"The catalogue calls the support “{obj.support}”.")


def _watermarks(obj: Object) -> Iterator[Fact]:
    marks = Watermark.objects.filter(
        examination__object=obj,
        examination__deleted_at=None,
        deleted_at=None,
        repertory_from_year__isnull=False,
    ).exclude(match="")
    for mark in marks.order_by("pk"):
        first = mark.repertory_from_year
        last = mark.repertory_to_year if mark.repertory_to_year is not None else first
        assert first is not None and last is not None
        entry = " ".join(part for part in (mark.repertory, mark.repertory_number) if part)
        place = f", {mark.repertory_place}" if mark.repertory_place else ""
        span = f"{first}" if first == last else f"{first}–{last}"
        yield Fact(
            "watermark",
            mark.match,
            f"{mark.get_kind_display()} “{mark.motif or 'no motif given'}”: "
            f"{mark.get_match_display().lower()} in {entry or 'a repertory'}{place}, {span}.",
            (min(first, last), max(first, last)),
        )
