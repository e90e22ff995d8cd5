"""Two people make work wait for other work in the same moment."""

import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.utils import timezone

from survey.triage import holding
from survey.triage.models import Hold
from tests.triage.conftest import Work


@pytest.mark.django_db(transaction=True)
def test_two_first_waits_in_one_moment_close_no_circle(work: Work, head, monkeypatch):
    if connection.vendor != "postgresql":
        pytest.skip("Elsewhere a writer waits for the other from the start.")
    first, second = work("A"), work("B")
    checked = threading.Barrier(2)
    check = holding.check_no_circle

    def both_check_before_either_writes(*given: Any) -> None:
        check(*given)
        # It breaks where the other one is kept from looking until this one has written.
        with suppress(threading.BrokenBarrierError):
            checked.wait(timeout=2)

    monkeypatch.setattr(holding, "check_no_circle", both_check_before_either_writes)

    def wait(one: Any, other: Any) -> str:
        try:
            holding.hold(
                one.pk,
                person=head,
                reason="After the other",
                until=timezone.localdate() + timedelta(days=9),
                after=other.pk,
            )
        except ValidationError as refusal:
            return str(refusal)
        finally:
            connection.close()
        return "held"

    with ThreadPoolExecutor(2) as pool:
        said = list(pool.map(wait, (first, second), (second, first)))
    assert sorted(one == "held" for one in said) == [False, True]
    assert any("wait for each other in a circle" in one for one in said)
    assert Hold.objects.filter(ended_at=None).count() == 1
