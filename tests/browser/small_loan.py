"""A loan of two sheets, with a pass for its courier: fills an empty museum of its own.

Run as a program it fills the empty database of FIELDLEAF_DATA and writes what a test has to
know of it to standard output as JSON: see Lent.
"""

import json
import os
import subprocess
import sys
from dataclasses import asdict, dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from tests.browser.server import ROOT, Server

PASSWORD = "reeds-by-the-water"
CONSERVATOR = "iona"


@dataclass
class Lent:
    """passes: tokens of four passes, the last one of which ended yesterday."""

    loan: str
    passes: list[str]
    numbers: list[str]


def lend(server: Server) -> Lent:
    """Fill the server's empty data folder; it is not running yet."""
    environment = server.environment | {"PYTHONPATH": str(ROOT)}
    subprocess.run(
        [sys.executable, "manage.py", "migrate"],
        cwd=server.root, env=environment, check=True, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    filled = subprocess.run(
        [sys.executable, str(Path(__file__))],
        cwd=server.root, env=environment, check=True, stdout=subprocess.PIPE,
    )  # fmt: skip
    return Lent(**json.loads(filled.stdout.splitlines()[-1]))


def fill() -> Lent:
    from django.utils import timezone

    from survey.access.models import Person
    from survey.access.passes import make_pass
    from survey.catalogue.models import Location, Object
    from survey.examination.models import Amendment, Examination, Observation, Photograph, Visit
    from survey.loans.models import Loan, LoanedObject
    from survey.sync.services import log_many
    from tests.reading import sheets

    def saved(name: str, rows: list[Any]) -> list[Any]:
        type(rows[0]).objects.bulk_create(rows)
        log_many(name, rows, None)
        return rows

    person = Person.objects.create_user(
        CONSERVATOR, password=PASSWORD, first_name="Iona", last_name="Saltmarsh"
    )
    began = timezone.now() - timedelta(days=12)
    (shelf,) = saved("location", [Location(kind="shelf", name="Shelf 1")])
    first, second, other = saved(
        "object",
        [
            Object(
                accession_number=f"PE.1931.{number}",
                title=title,
                maker="Ottoline Marsh",
                date_text="about 1875",
                support="Laid paper",
                media="Etching",
                width_mm=120.0,
                height_mm=100.0,
                location=shelf,
            )
            for number, title in (
                (6, "Reeds by the water"),
                (7, "The same reeds in winter, with a heron that was drawn in later"),
                (8, "A sheet that stays at home"),
            )
        ],
    )
    (visit,) = saved(
        "visit", [Visit(purpose="bench", name="At the bench", person=person, started_at=began)]
    )
    examinations = saved(
        "examination",
        [
            Examination(
                visit=visit,
                object=item,
                examiner=person,
                started_at=began,
                sheet_width_mm=120.0,
                sheet_height_mm=100.0,
                grade="fair",
                signed_at=began,
                signed_name=person.name,
            )
            for item in (first, second, other)
        ],
    )

    def outline(x: float, y: float, w: float, h: float) -> dict[str, Any]:
        return {"kind": "polygon", "points": [[x, y], [x + w, y], [x + w, y + h], [x, y + h]]}

    recto, plain, home = examinations
    saved(
        "observation",
        [
            Observation(
                examination=recto, term_id="tear", severity="slight", extent="edge",
                lights=["raking"], note="At the right edge, 8 mm long, lies flat.",
                region=outline(108, 40, 11, 6),
            ),
            Observation(
                examination=recto, term_id="foxing", severity="moderate", extent="several",
                lights=["normal"], region=outline(20, 20, 30, 18),
            ),
            Observation(
                examination=recto, term_id="handling-crease", severity="slight", extent="spot",
                side="verso", lights=["raking"],
            ),
            Observation(
                examination=plain, term_id="cockling", nature="feature", extent="overall",
                lights=["raking"],
            ),
            Observation(examination=home, term_id="old-mould", severity="slight"),
        ],
    )  # fmt: skip
    stain = {"term": "foxing", "nature": "damage", "severity": "slight", "side": "recto"}
    saved(
        "amendment",
        [
            Amendment(
                examination=recto,
                after={"observation": stain | {"region": outline(70, 70, 4, 4)}},
                reason="One more spot, seen by comparing two photographs.",
                signed_name=person.name,
            )
        ],
    )
    shots = [(recto, "normal", None), (recto, "raking", 270.0), (plain, "normal", None)]
    photographs = [
        sheets.photographed(of, light, azimuth_deg=azimuth) for of, light, azimuth in shots
    ]
    photographs.append(sheets.photographed(home, "transmitted"))
    log_many("photograph", list(Photograph.objects.all()), None)
    today = timezone.localdate()
    (loan,) = saved(
        "loan",
        [
            Loan(
                reference="L.2026.4",
                title="Ink and water",
                lender="Port Ellery Museum of Works on Paper",
                borrower="Gallery of the Salt Quay",
                first_day=today - timedelta(days=3),
                last_day=today + timedelta(days=60),
                venues=[
                    {
                        "name": "Gallery of the Salt Quay",
                        "first_day": str(today + timedelta(days=2)),
                        "last_day": str(today + timedelta(days=50)),
                    }
                ],
                couriers=["Wenna Tregear"],
                most_lux=50,
                most_ultraviolet_uw_lm=10,
                coolest_c=18,
                warmest_c=22,
                driest_percent=45,
                dampest_percent=55,
                steepest_display_deg=60,
                hours_to_acclimatise=24,
                handling="Two people, gloves, never upright without its frame.",
            )
        ],
    )
    saved(
        "loaned_object",
        [
            LoanedObject(loan=loan, object=second, crate="Crate 10", order=0),
            LoanedObject(loan=loan, object=first, crate="Crate 2", frame="Oak frame", order=1),
        ],
    )
    ends = [timezone.now() + timedelta(days=60)] * 3 + [timezone.now() - timedelta(days=1)]
    passes = [make_pass(loan.pk, str(loan), "Wenna Tregear", end, by=person)[1] for end in ends]
    return Lent(str(loan.pk), passes, [first.accession_number, second.accession_number])


if __name__ == "__main__":
    sys.path.insert(0, os.getcwd())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "survey.settings")
    import django

    django.setup()
    print(json.dumps(asdict(fill())))
