"""Whose signature is wanting is told in the same words on the tablet as at the desk."""

import json
import subprocess
from itertools import combinations
from pathlib import Path

import pytest

from survey import bootstrap
from survey.loans.hands import HalfSigned, half_signed_by
from survey.loans.models import LoanCheck, Signature

TABLET = Path(__file__).with_name("hands.mjs")


def test_every_stage_and_set_of_roles_is_told_alike() -> None:
    roles = Signature.Role.values
    cases = [
        (stage, list(some))
        for stage in LoanCheck.Stage.values
        for number in range(len(roles) + 1)
        for some in combinations(roles, number)
    ]
    ran = subprocess.run(
        [str(bootstrap.VENV / "bin/node"), str(TABLET)],
        input=json.dumps(cases),
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert ran.returncode == 0, ran.stderr
    for (stage, some), told in zip(cases, json.loads(ran.stdout), strict=True):
        assert half_signed_by(stage, some) == (HalfSigned(**told) if told else None), (stage, some)


@pytest.mark.parametrize(
    ("stage", "roles", "sentence"),
    [
        ("arrival", ["courier"], "Signed by the courier only; the receiver has not signed."),
        ("return", ["receiver"], "Signed by the receiver only; the courier has not signed."),
        (
            "outgoing",
            ["registrar", "conservator"],
            "Signed by the conservator and the registrar only; the courier has not signed.",
        ),
        ("outgoing", ["courier"], "Signed by the courier only; the conservator has not signed."),
        ("interim", ["conservator", "receiver"], None),
        ("outgoing", ["courier", "receiver"], None),
        ("arrival", ["courier", "receiver"], None),
        ("outgoing", ["registrar", "courier"], None),
        ("arrival", [], None),
    ],
)
def test_one_side_alone_is_not_all(stage: str, roles: list[str], sentence: str | None) -> None:
    half = half_signed_by(stage, roles)
    assert (half.sentence if half else None) == sentence
