"""Readings over HTTP."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from survey.access.models import Person
from survey.reading.kinds.job import Found
from survey.reading.models import Alignment, Reading
from survey.reading.pictures import altered, keep_picture, picture_path
from tests.factories import DeviceFactory, PersonFactory, PhotographFactory
from tests.reading.sheets import examination, photographed
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db
KindThat = Callable[[Any], None]
PIXELS = np.full((30, 40), 127, dtype=np.uint8)


def post(tablet: WireTablet, path: str, data: Any) -> Any:
    return tablet.request("post", path, data, "application/json")


def asked(tablet: WireTablet, **fields: Any) -> Any:
    of = examination()
    photographed(of, "transmitted")
    return post(tablet, "/api/readings", {"examination": str(of.pk), "kind": "paper"} | fields)


def test_it_is_asked_for_looked_at_and_corrected(kind_that: KindThat) -> None:
    kind_that(lambda job: Found({"lines": 7}, "Seven.", {"overlay": PIXELS}))
    tablet = WireTablet()
    answer = asked(tablet)
    assert answer.status_code == 202
    reading = answer.json()
    assert (reading["state"], reading["result"]) == ("done", {"lines": 7})
    path = f"/api/readings/{reading['id']}"
    said = post(tablet, f"{path}/corrections", {"changes": {"lines": 8}, "reason": "Hidden."})
    assert said.status_code == 201
    assert said.json()["person_name"] == tablet.device.person.name
    now = tablet.get(path).json()
    assert now["result"] == {"lines": 7}
    assert now["correction"]["result"] == {"lines": 8}
    [listed] = tablet.get(f"/api/readings?examination={reading['examination']}").json()
    assert listed == now
    picture = tablet.get(f"/api/readings/pictures/{now['pictures']['overlay']}")
    assert picture["Content-Type"] == "image/jpeg"
    assert b"".join(picture.streaming_content).startswith(b"\xff\xd8")


def test_why_it_cannot_be_read_is_said(kind_that: KindThat) -> None:
    answer = asked(WireTablet(), side="verso")
    assert answer.status_code == 409
    assert "no photograph in transmitted light" in answer.json()["detail"]
    assert not Reading.objects.exists()


def test_a_courier_looks_and_does_not_ask(kind_that: KindThat) -> None:
    courier = PersonFactory(role=Person.Role.COURIER)
    tablet = WireTablet(DeviceFactory(token="slate", person=courier))
    assert asked(tablet).status_code == 403
    of = photographed(examination(), "transmitted").examination
    assert tablet.get(f"/api/readings?examination={of.pk}").json() == []


# The same in every process that collects these tests.
ABSENT = "01a2227c-0000-7000-8000-000000000000"


@pytest.mark.parametrize(
    ("method", "path", "data", "status"),
    [
        ("get", "/api/readings", None, 400),
        ("get", f"/api/readings?examination={ABSENT}", None, 404),
        ("get", "/api/readings?examination=7", None, 400),
        ("get", f"/api/readings/{ABSENT}", None, 404),
        ("post", "/api/readings", {"kind": "paper"}, 400),
        ("post", "/api/readings", {"examination": ABSENT, "kind": "weather"}, 400),
        ("post", "/api/readings", {"examination": ABSENT, "kind": "paper"}, 404),
        ("post", f"/api/readings/{ABSENT}/corrections", {"changes": {}}, 404),
        ("get", f"/api/alignments?examination={ABSENT}", None, 404),
        ("get", f"/api/readings/pictures/{'0' * 64}", None, 404),
        ("get", "/api/readings/pictures/..%2F..%2Fsecret-key", None, 404),
    ],
)
def test_what_is_not_there_or_makes_no_sense_is_told(
    method: str, path: str, data: Any, status: int
) -> None:
    tablet = WireTablet()
    answer = post(tablet, path, data) if method == "post" else tablet.get(path)
    assert answer.status_code == status


def test_a_correction_that_does_not_fit_is_told(kind_that: KindThat) -> None:
    tablet = WireTablet()
    reading = asked(tablet).json()
    Reading.objects.update(kind="align")
    said = post(tablet, f"/api/readings/{reading['id']}/corrections", {"changes": {"lines": 8}})
    assert said.status_code == 422
    assert "Nothing in this reading can be corrected by hand" in said.json()["detail"]


def test_nobody_reads_without_signing_in(client: Any) -> None:
    assert client.get("/api/readings").status_code == 401
    assert client.get(f"/api/readings/pictures/{'0' * 64}").status_code == 401


def test_alignments_of_an_examination_are_fetched_together(
    django_assert_max_num_queries: Any,
) -> None:
    onto = PhotographFactory()
    for azimuth in (0, 90, 180):
        one = PhotographFactory(examination=onto.examination, light="raking", azimuth_deg=azimuth)
        Alignment.objects.create(
            photograph=one, onto=onto, matrix=[1, 0, azimuth, 0, 1, 0, 0, 0, 1], residual_mm=0.1
        )
    tablet = WireTablet()
    with django_assert_max_num_queries(5):
        told = tablet.get(f"/api/alignments?examination={onto.examination_id}").json()
    assert [one["matrix"][2] for one in told] == [0, 90, 180]
    assert told[0]["onto"] == str(onto.pk) and told[0]["light"] == "raking"
    assert told[0]["nudged"] is False


def test_a_picture_is_kept_once_and_an_altered_one_is_told_of() -> None:
    sha256 = keep_picture(PIXELS)
    assert keep_picture(PIXELS.copy()) == sha256
    assert list(altered()) == []
    picture_path(sha256).write_bytes(b"other")
    [sentence] = altered()
    assert "is altered. Delete it, and ask for the reading again" in sentence
