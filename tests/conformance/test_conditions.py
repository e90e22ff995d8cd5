"""Packing and unpacking is told in the same words on the tablet as in the desk's report."""

import json
import random
import subprocess
from pathlib import Path
from typing import Any

from survey import bootstrap
from survey.loans.conditions import held_against, noted
from survey.loans.models import Loan, LoanCheck, LoanedObject

TABLET = Path(__file__).with_name("conditions.mjs")
CHECKED: dict[str, list[Any]] = {
    "crate": ["", "Crate 2", "crate 2 ", "Crate 7"],
    "stage": ["outgoing", "arrival", "interim", "return"],
    "seals": ["", "40117 and 40118"],
    "seals_whole": ["", "yes", "no"],
    "hours_acclimatised": [None, 0.0, 20.0, 24.0, 30.5],
    "temperature_c": [None, -3.5, 17.95, 18.0, 22.0, 22.3],
    "humidity_percent": [None, 44.0, 50.0, 56.0, 58.25],
    "logger": ["", "No. 7, 47 to 52 % on the way"],
    "glazing": ["", "none", "whole", "scratched", "cracked", "broken"],
}
AGREED: dict[str, list[Any]] = {
    "hours_to_acclimatise": [None, 24.0],
    "coolest_c": [None, 18.0],
    "warmest_c": [None, 22.0],
    "driest_percent": [None, 45.0],
    "dampest_percent": [None, 55.0],
}
PACKED: dict[str, list[Any]] = {
    "stage": ["outgoing", "arrival", "interim"],
    "seals": ["40118,40117", "PE 0521; PE 0522"],
}
LISTED: dict[str, list[Any]] = {"crate": ["", "Crate 2"], "glazing": ["", "Acrylic"]}


def test_rows_are_the_same_on_both_sides() -> None:
    chance = random.Random(21)

    def drawn(fields: dict[str, list[Any]]) -> dict[str, Any]:
        return {name: chance.choice(values) for name, values in fields.items()}

    cases = [
        {
            "check": drawn(CHECKED),
            "loan": drawn(AGREED),
            "packed": drawn(PACKED) if chance.random() < 0.6 else None,
            "loaned": drawn(LISTED) if chance.random() < 0.9 else None,
        }
        for _ in range(400)
    ]
    told = subprocess.run(
        [str(bootstrap.VENV / "bin/node"), str(TABLET)],
        input=json.dumps(cases),
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert told.returncode == 0, told.stderr
    for case, given in zip(cases, json.loads(told.stdout), strict=True):
        rows = given["rows"]
        loaned = LoanedObject(**case["loaned"]) if case["loaned"] else None
        packed = LoanCheck(**case["packed"]) if case["packed"] else None
        check = LoanCheck(loan=Loan(**case["loan"]), **case["check"])
        assert [tuple(one) for one in given["noted"]] == noted(check), case
        held = held_against(check, loaned, packed)
        assert [
            (row["name"], row["agreed"], row["found"], row["judged"], row["isOutside"])
            for row in rows
        ] == [(one.name, one.agreed, one.found, one.judged, one.is_outside) for one in held], case
