"""What a courier's pass opens, and, by trying every door, that it opens nothing else."""

import base64
import hashlib
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from survey.catalogue.models import Move
from survey.desk import urls as desk_urls
from survey.examination.fixed import altered_after_signing
from survey.examination.models import Visit
from survey.loans import arranging
from survey.loans.models import LoanCheck
from survey.loans.stated import statement_of
from survey.reading.models import Reading
from survey.reports.models import Report
from survey.sync import log, registry
from survey.sync.care.records import faults
from survey.sync.models import Change, OpenQuestion
from survey.sync.services import log_many, record_change
from tests.factories import (
    DeviceFactory,
    MoveFactory,
    PersonFactory,
    VisitFactory,
    examined,
)
from tests.loans.museum import (
    STROKES,
    Lent,
    Phone,
    check_of,
    lent,
    new_loan,
    opened,
    phone_of,
    signed,
    stored_photograph,
)
from tests.sync.wire import Tablet
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


@dataclass
class World:
    """Two loans with an object each, an object on none, and a phone with a pass of the first."""

    mine: Lent
    other: Lent
    home: Lent
    phone: Phone

    @property
    def keys_of_others(self) -> set[str]:
        return {str(row.pk) for one in (self.other, self.home) for _, row in one.rows} | {
            str(self.other.loan.pk)
        }


@pytest.fixture
def world() -> World:
    mine, other, home = lent(new_loan()), lent(new_loan()), lent(None)
    for one in (mine, other):
        signed(check_of(one, LoanCheck.Stage.OUTGOING), "Wren Vale", "Ro Fell")
    move = MoveFactory(object=mine.object)
    log_many("move", [move], None)
    return World(mine, other, home, phone_of(mine.loan))


def account() -> WireTablet:
    """A tablet of somebody with an account."""
    return WireTablet(DeviceFactory(token="account"), "account")


# What it pulls.


def pulled(phone: Phone, cursor: int = 0) -> Iterator[dict[str, Any]]:
    """Every row and every question that the phone is sent from a cursor on."""
    more = True
    while more:
        page = phone.tablet.get(f"/api/sync/pull?cursor={cursor}").json()
        yield from page["rows"]
        yield from page["questions"]
        cursor, more = page["cursor"], page["more"]


def living(rows: Any) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for row in rows:
        if "deleted" in row and not row["deleted"]:
            found.setdefault(row["entity"], set()).add(row["id"])
    return found


def test_it_carries_its_loan_whole(world: World) -> None:
    mine = world.mine
    got = living(pulled(world.phone))
    assert got["loan"] == {str(mine.loan.pk)}
    assert got["object"] == {str(mine.object.pk)}
    assert got["loaned_object"] == {str(one.pk) for one in mine.loan.loaned.all()}
    [check] = mine.loan.checks.all()
    assert got["loan_check"] == {str(check.pk)}
    assert got["examination"] == {str(mine.state.pk), str(check.examination_id)}
    assert got["signature"] == {str(one.pk) for one in check.signatures.all()}
    assert got["point_check"] == {str(one.pk) for one in check.points.all()}
    assert got["visit"] == {str(check.examination.visit_id)}
    for name in ("photograph", "measurement", "watermark", "amendment"):
        assert got[name] == {str(row.pk) for kind, row in mine.rows if kind == name}
    of_state = {str(one.pk) for one in mine.observations}
    assert of_state < got["observation"]
    # No place of the store, no move, and no work that is thought of at home.
    assert not {"location", "move", "recommendation"} & set(got)


@pytest.mark.parametrize("start", ["the beginning", "later"])
def test_it_carries_nothing_of_another_loan_or_object(world: World, start: str) -> None:
    cursor = 0 if start == "the beginning" else 1
    rows = list(pulled(world.phone, cursor))
    for row in rows:
        if row.get("entity_id") or not row["deleted"]:
            continue
        # Of what it does not carry it is told a key to forget, and not a word.
        assert row["fields"] is None
    kept = [row for row in rows if row.get("fields") is not None]
    assert kept
    told = str(kept)
    for key in world.keys_of_others:
        assert key not in told
    for one in (world.other, world.home):
        for words in (one.object.title, one.object.accession_number, one.photograph.sha256):
            assert words not in str(rows)
    if start == "the beginning":
        assert not {row["id"] for row in rows} & world.keys_of_others


def test_a_row_that_changes_elsewhere_brings_no_word_of_it(world: World) -> None:
    cursor = log.last_number()
    record_change("object", world.home.object, {"title": "A secret gift"}, None)
    record_change("loan", world.other.loan, {"note": "Worth a fortune"}, None)
    rows = list(pulled(world.phone, cursor))
    assert {(row["deleted"], row["fields"]) for row in rows} == {(True, None)}
    assert "secret" not in str(rows) and "fortune" not in str(rows)


@pytest.mark.parametrize("is_settled", [False, True])
def test_questions_about_other_records_are_not_told(world: World, is_settled: bool) -> None:
    other = examined(0, signed=False, object=world.home.object)
    log_many("examination", [other], None)
    cursor = log.last_number()
    tablets = [Tablet(visit_id=other.pk) for _ in range(2)]
    for second, (tablet, words) in enumerate(
        zip(tablets, ("In vault 7", "In vault 9"), strict=True)
    ):
        tablet.push({"notes": words}, second, entity="examination")
    if is_settled:
        tablets[0].push({"notes": "In vault 9"}, 5, entity="examination")
    for start in (0, 1, cursor):
        rows = list(pulled(world.phone, start))
        assert "vault" not in str(rows)
        assert "Vale" not in str([row for row in rows if "shown" in row])


def test_its_scope_cannot_be_changed_from_the_device(world: World) -> None:
    before = dict(world.phone.tablet.device.scope)
    answer = world.phone.tablet.request(
        "put", "/api/sync/scope", {"locations": []}, "application/json"
    )
    assert answer.status_code == 403
    world.phone.tablet.device.refresh_from_db()
    assert world.phone.tablet.device.scope == before


def test_an_object_taken_off_the_loan_is_carried_no_longer(world: World) -> None:
    for loaned in world.mine.loan.loaned.all():
        record_change("loaned_object", loaned, {"deleted": True}, None)
    got = living(pulled(world.phone))
    assert set(got) <= {"loan", "loan_check", "point_check", "signature"}


# What it sends.


def seen(phone: Phone, mine: Lent) -> tuple[str, str]:
    """A visit and an examination of the loan's object, made on the phone."""
    visit = phone.tablet.made("visit", purpose="loan-check", name="Arrival")
    examination = phone.tablet.made("examination", visit=visit, object=str(mine.object.pk))
    return visit, examination


def test_it_makes_and_signs_a_check_of_its_loan(world: World) -> None:
    """The whole way of an arrival check, with the pass alone."""
    phone, mine = world.phone, world.mine
    [outgoing] = mine.loan.checks.all()
    _, examination = seen(phone, mine)
    check = phone.tablet.made(
        "loan_check",
        loan=str(mine.loan.pk),
        examination=examination,
        earlier=str(outgoing.examination_id),
        stage="arrival",
        crate="Crate 2",
    )
    for known in outgoing.examination.observations.all():
        now = phone.tablet.made("observation", examination=examination, term=known.term_id)
        phone.tablet.made(
            "point_check", loan_check=check, observation=str(known.pk), answer="same", now=now
        )
    statement = statement_of(LoanCheck.objects.get(pk=check))
    signing = [
        phone.tablet.push("loan_check", check, statement=statement),
        phone.tablet.push(
            "examination",
            examination,
            signed_at=timezone.now().isoformat(),
            signed_name="Tobias Fell",
        ),
        phone.tablet.push(
            "signature",
            loan_check=check,
            role="courier",
            name="Tobias Fell",
            strokes=STROKES,
            sha256=hashlib.sha256(statement.encode()).hexdigest(),
        ),
    ]
    assert [one["outcome"] for one in signing] == ["applied"] * 3, signing
    assert phone.tablet.push("amendment", examination=examination, reason="Crate was damp.",
                             signed_name="Tobias Fell")["outcome"] == "applied"  # fmt: skip
    assert examination in living(pulled(phone))["examination"]


Attempt = Callable[[World], tuple[str, Any, dict[str, Any]]]


def _visit_of_another(world: World) -> str:
    visit = VisitFactory(purpose=Visit.Purpose.LOAN_CHECK)
    log_many("visit", [visit], None)
    return str(visit.pk)


# What it must not get into the record: entity, key of the record (None: a new one), fields.
REFUSED: dict[str, Attempt] = {
    "a place": lambda w: ("location", None, {"kind": "room", "name": "Attic"}),
    "an object": lambda w: ("object", w.mine.object.pk, {"title": "Mine now"}),
    "another object": lambda w: ("object", w.home.object.pk, {"deleted": True}),
    "a move of its object": lambda w: (
        "move",
        None,
        {"object": str(w.mine.object.pk), "to_place": "My flat"},
    ),
    "a move of another": lambda w: (
        "move",
        None,
        {"object": str(w.home.object.pk), "to_place": "My flat"},
    ),
    "its loan": lambda w: ("loan", w.mine.loan.pk, {"last_day": "2099-01-01"}),
    "another loan": lambda w: ("loan", w.other.loan.pk, {"note": "Read"}),
    "a new loan": lambda w: ("loan", None, {"reference": "L.9", "title": "Mine"}),
    "an object more": lambda w: (
        "loaned_object",
        None,
        {"loan": str(w.mine.loan.pk), "object": str(w.home.object.pk)},
    ),
    "a visit for somebody else": lambda w: (
        "visit",
        None,
        {"purpose": "loan-check", "name": "Not I", "person": str(PersonFactory().pk)},
    ),
    "somebody else’s visit": lambda w: ("visit", _visit_of_another(w), {"note": "Read"}),
    "a visit of its own loan that is not its own": lambda w: (
        "visit",
        w.mine.loan.checks.get().examination.visit_id,
        {"note": "Altered"},
    ),
    "an examination on somebody else’s visit": lambda w: (
        "examination",
        None,
        {"visit": _visit_of_another(w), "object": str(w.mine.object.pk)},
    ),
    "an examination of another object": lambda w: (
        "examination",
        None,
        {"visit": seen(w.phone, w.mine)[0], "object": str(w.home.object.pk)},
    ),
    "an examination by somebody else": lambda w: (
        "examination",
        None,
        {
            "visit": seen(w.phone, w.mine)[0],
            "object": str(w.mine.object.pk),
            "examiner": str(PersonFactory().pk),
        },
    ),
    "its examination turned to another object": lambda w: (
        "examination",
        seen(w.phone, w.mine)[1],
        {"object": str(w.home.object.pk)},
    ),
    "an examination elsewhere": lambda w: (
        "examination",
        _open_examination(w.home),
        {"notes": "Read"},
    ),
    "a conservator’s examination of its object": lambda w: (
        "examination",
        _open_check(w.mine).examination_id,
        {"notes": "Altered"},
    ),
    "an observation elsewhere": lambda w: (
        "observation",
        None,
        {"examination": _open_examination(w.home), "term": "tear"},
    ),
    "an observation in a conservator’s check": lambda w: (
        "observation",
        None,
        {"examination": str(_open_check(w.mine).examination_id), "term": "tear"},
    ),
    "a photograph elsewhere": lambda w: (
        "photograph",
        None,
        {
            "examination": _open_examination(w.home),
            "light": "normal",
            "sha256": w.home.photograph.sha256,
            "size_bytes": 10,
            "content_type": "image/png",
        },
    ),
    "an amendment of its object’s state": lambda w: (
        "amendment",
        None,
        {"examination": str(w.mine.state.pk), "reason": "No", "signed_name": "Tobias Fell"},
    ),
    "an amendment elsewhere": lambda w: (
        "amendment",
        None,
        {"examination": str(w.home.state.pk), "reason": "No", "signed_name": "Tobias Fell"},
    ),
    "a recommendation elsewhere": lambda w: (
        "recommendation",
        None,
        {"examination": _open_examination(w.home), "kind_of_work": "treat"},
    ),
    "a check on another loan": lambda w: (
        "loan_check",
        None,
        {
            "loan": str(w.other.loan.pk),
            "examination": _open_examination(w.other),
            "stage": "arrival",
        },
    ),
    "its own examination put on another loan": lambda w: (
        "loan_check",
        None,
        {
            "loan": str(w.other.loan.pk),
            "examination": seen(w.phone, w.mine)[1],
            "stage": "arrival",
        },
    ),
    "a conservator’s check": lambda w: ("loan_check", _open_check(w.mine).pk, {"note": "Read"}),
    "a point of a conservator’s check": lambda w: (
        "point_check",
        None,
        {
            "loan_check": str(_open_check(w.mine).pk),
            "observation": str(w.mine.observations[0].pk),
            "answer": "same",
        },
    ),
    "a signature below a check elsewhere": lambda w: (
        "signature",
        None,
        {
            "loan_check": str(w.other.loan.checks.get().pk),
            "role": "courier",
            "name": "Tobias Fell",
            "strokes": STROKES,
            "sha256": _hash_of(w.other),
        },
    ),
    "a signature below a conservator’s check": lambda w: (
        "signature",
        None,
        {
            "loan_check": str(w.mine.loan.checks.get().pk),
            "role": "registrar",
            "name": "Wren Vale",
            "strokes": STROKES,
            "sha256": _hash_of(w.mine),
        },
    ),
}


def _open_examination(of: Lent) -> str:
    examination = examined(0, signed=False, object=of.object)
    log_many("examination", [examination], None)
    return str(examination.pk)


def _open_check(of: Lent) -> LoanCheck:
    return check_of(of, LoanCheck.Stage.INTERIM, answers=False)


def _hash_of(of: Lent) -> str:
    return hashlib.sha256(of.loan.checks.get().statement.encode()).hexdigest()


@pytest.mark.parametrize("name", REFUSED)
def test_it_writes_nothing_but_its_own(world: World, name: str) -> None:
    entity, key, fields = REFUSED[name](world)
    known = registry.named(entity)
    assert known is not None
    rows = list(known.model._default_manager.order_by("pk").values())
    last, moves = log.last_number(), Move.objects.count()
    result = world.phone.tablet.push(entity, key, **fields)
    assert result["outcome"] == "refused", result
    assert all(result["reasons"].values())
    assert list(known.model._default_manager.order_by("pk").values()) == rows
    assert log.last_number() == last and Move.objects.count() == moves


# Nobody does these on a tablet.
NEVER = {
    "a place",
    "an object",
    "another object",
    "its loan",
    "another loan",
    "a new loan",
    "an object more",
    "its own examination put on another loan",
}


@pytest.mark.parametrize("name", REFUSED)
def test_with_an_account_the_same_is_taken(world: World, name: str) -> None:
    """So that a refusal above is the pass's doing, and not a slip in the attempt."""
    entity, key, fields = REFUSED[name](world)
    result = account().push(entity, key, **fields)
    assert (result["outcome"] == "refused") == (name in NEVER), result


def test_it_answers_no_question_about_another_record(world: World) -> None:
    other = examined(0, signed=False, object=world.home.object)
    log_many("examination", [other], None)
    for second, words in enumerate(("damp", "dry")):
        Tablet(visit_id=other.pk).push({"notes": words}, second, entity="examination")
    question = OpenQuestion.objects.get()
    change = world.phone.tablet.change("examination", other.pk, {"notes": "wet"}, 10**9)
    [result] = world.phone.tablet.push_all({**change, "settles": str(question.pk)})
    assert result["outcome"] == "refused"
    question.refresh_from_db()
    assert question.is_open


# Photographs.

SIZES = ("original", "preview", "thumbnail", "region?x=0&y=0&width=20&height=20")


@pytest.mark.parametrize("size", SIZES)
def test_it_shows_the_photographs_of_its_loan_and_no_others(world: World, size: str) -> None:
    phone = world.phone
    address = "/api/photographs/{}/" + size
    assert phone.tablet.get(address.format(world.mine.photograph.sha256)).status_code == 200
    for one in (world.other, world.home):
        answer = phone.tablet.get(address.format(one.photograph.sha256))
        assert answer.status_code == 404
        # Not even by what it is said: one that never was answers alike.
        never = phone.tablet.get(address.format("0" * 64))
        assert (never.status_code, never.content) == (404, answer.content)


def test_photographs_of_its_object_from_other_times_stay_closed(world: World) -> None:
    old = examined(900, object=world.mine.object)
    taken = stored_photograph(old)
    assert world.phone.tablet.get(f"/api/photographs/{taken.sha256}/preview").status_code == 404


def test_a_photograph_it_sends_it_may_see_again(world: World) -> None:
    phone = world.phone
    _, examination = seen(phone, world.mine)
    other = stored_photograph(examined(1))
    content = b"".join(account().get(f"/api/photographs/{other.sha256}/original").streaming_content)
    other.delete()
    sha256 = hashlib.sha256(content).hexdigest()
    assert phone.tablet.upload(content).status_code == 204
    assert phone.tablet.get(f"/api/photographs/{sha256}/preview").status_code == 404
    phone.tablet.made(
        "photograph",
        examination=examination,
        light="normal",
        sha256=sha256,
        size_bytes=len(content),
        content_type="image/png",
    )
    assert phone.tablet.get(f"/api/photographs/{sha256}/preview").status_code == 200


def test_another_s_upload_is_not_its_to_go_on_with(world: World) -> None:
    tus = {"Tus-Resumable": "1.0.0"}
    name = base64.b64encode(b"0" * 64).decode()
    made = account().request(
        "post",
        "/api/uploads/",
        **tus,
        **{"Upload-Length": "9", "Upload-Metadata": f"sha256 {name}"},
    )
    path = made["Location"].removeprefix("http://testserver")
    for method in ("head", "delete"):
        assert world.phone.tablet.request(method, path, **tus).status_code == 404
    patched = world.phone.tablet.request(
        "patch", path, b"x", "application/offset+octet-stream", **tus, **{"Upload-Offset": "0"}
    )
    assert patched.status_code == 404


# Every other address.


def api_patterns() -> list[tuple[str, URLPattern]]:
    """Every address below /api/, by walking the resolver."""

    def walk(patterns: Any, before: str) -> Iterator[tuple[str, URLPattern]]:
        for one in patterns:
            path = before + str(one.pattern)
            if isinstance(one, URLResolver):
                yield from walk(one.url_patterns, path)
            else:
                yield path, one

    return [
        (path, one)
        for path, one in walk(get_resolver().url_patterns, "")
        if path.startswith("api/")
    ]


# Those that answer a pass at all, each held to its loan by a test above; or to nobody's data.
ANSWER_A_PASS = {
    "schema",
    "vocabulary",
    "api-sign-in",
    "api-pass-open",
    "api-sign-out",
    "api-push",
    "api-pull",
    "api-stored",
    "api-received",
    "api-uploads",
    "api-upload",
    "api-original",
    "api-preview",
    "api-thumbnail",
    "api-region",
}
METHODS = ("get", "post", "put", "patch", "delete", "head")


def test_every_address_was_thought_of() -> None:
    """A new address is closed to passes until somebody opens it, and then names it here."""
    opened_to = {
        one.name
        for _, one in api_patterns()
        if getattr(one.callback.view_class, "open_to_passes", False)  # type: ignore[attr-defined]
    }
    without_sign_in = {"schema", "api-sign-in", "api-pass-open"}
    assert opened_to | without_sign_in == ANSWER_A_PASS
    assert len(api_patterns()) > len(ANSWER_A_PASS)


@pytest.mark.parametrize(
    ("path", "pattern"),
    [(path, one) for path, one in api_patterns() if one.name not in ANSWER_A_PASS],
    ids=lambda value: value.name if isinstance(value, URLPattern) else "",
)
def test_every_other_address_is_closed(world: World, path: str, pattern: URLPattern) -> None:
    """With keys of records that are there: of other objects, and of the loan's own."""
    assert pattern.name
    for one in (world.home, world.mine):
        address = reverse(pattern.name, kwargs=values_of(pattern, one))
        query = f"?examination={one.state.pk}"
        for method in METHODS:
            content = () if method in ("get", "head") else ({}, "application/json")
            answer = world.phone.tablet.request(method, address + query, *content)
            assert answer.status_code in (403, 405), (method, address, answer.status_code)
            if method == "get" and answer.status_code != 405:
                assert answer.json() == {
                    "detail": "Your pass opens one loan only, and this is not part of it."
                }


def values_of(pattern: URLPattern, of: Lent) -> dict[str, Any]:
    """Arguments that lead to records of the object, where there are any."""
    if "reading" in (pattern.name or "") or "correction" in (pattern.name or ""):
        key: Any = Reading.objects.create(examination=of.state, kind="paper", side="recto").pk
    elif "report" in (pattern.name or ""):
        key = Report.objects.create(about=of.state.pk, asked_by=PersonFactory()).pk
    else:
        key = uuid.uuid4()
    given = {"key": key, "sha256": of.photograph.sha256}
    return {name: given[name] for name in pattern.pattern.converters}


def test_what_the_server_has_had_is_told_without_what_it_says(world: World) -> None:
    """To ask needs the very key or hash; the answer is that key and nothing beside it."""
    phone = world.phone
    change = Change.objects.filter(entity="object").first()
    assert change is not None
    asked = {"changes": [str(change.pk), str(uuid.uuid4())]}
    answer = phone.tablet.request("post", "/api/sync/received", asked, "application/json")
    assert answer.json() == {"received": [str(change.pk)]}


def test_a_change_of_somebody_else_s_is_not_told_by_sending_it_anew(world: World) -> None:
    """A guess at the contents of a known key is refused as any other."""
    change = Change.objects.filter(entity="object", fields__has_key="title").first()
    assert change is not None
    guess = world.phone.tablet.change("object", change.entity_id, {"title": "?"}, 0)
    [result] = world.phone.tablet.push_all({**guess, "id": str(change.pk)})
    assert result["outcome"] == "refused"
    assert str(change.fields["title"]) not in str(result)


def test_the_desk_takes_no_pass(world: World) -> None:
    examples = {"uuid": world.mine.state.pk, "int": 1, "slug": "tear", "string": "x"}
    for pattern in desk_urls.urlpatterns:
        # All see the page to sign in at, and change how pages look; the calendar has a secret
        # address of its own, which no pass is.
        if pattern.name in ("sign-in", "look", "feed"):
            continue
        values = {
            name: examples[type(converter).__name__.removesuffix("Converter").lower()]
            for name, converter in pattern.pattern.converters.items()
        }
        address = reverse(f"desk:{pattern.name}", kwargs=values)
        for method in ("get", "post"):
            answer = world.phone.tablet.request(method, address)
            # Asked to sign in, or told that this is not done by a link.
            assert answer.status_code in (302, 405), address
            if answer.status_code == 302:
                assert answer["Location"].startswith(reverse("desk:sign-in")), address


@pytest.mark.parametrize("why", ["withdrawn", "ended", "unknown"])
def test_once_it_is_over_no_address_answers(world: World, why: str) -> None:
    phone = world.phone
    if why == "withdrawn":
        arranging.take_pass_back(phone.held, PersonFactory())
    elif why == "ended":
        yesterday = timezone.localdate() - timedelta(days=1)
        arranging.edit_loan(world.mine.loan, PersonFactory(), {"last_day": yesterday})
    else:
        phone.tablet.token = "e" * 43
    sha256 = world.mine.photograph.sha256
    for path in ("/api/sync/pull", "/api/vocabulary", f"/api/photographs/{sha256}/preview"):
        assert phone.tablet.get(path).status_code == 401
    visits = Visit.objects.count()
    sent = phone.tablet.change("visit", uuid.uuid4(), {"purpose": "loan-check", "name": "Late"}, 0)
    answer = phone.tablet.request("post", "/api/sync/push", {"changes": [sent]}, "application/json")
    assert answer.status_code == 401 and Visit.objects.count() == visits
    assert opened(phone.pass_token, "f" * 43).status_code == 403


def test_without_any_sign_in_nothing_opens() -> None:
    client = Client()
    for path, one in api_patterns():
        if one.name in ("schema", "api-sign-in", "api-pass-open"):
            continue
        assert one.name
        given = {"key": uuid.uuid4(), "sha256": "0" * 64}
        values = {name: given[name] for name in one.pattern.converters}
        assert client.get(reverse(one.name, kwargs=values)).status_code in (401, 405), path


def test_its_own_are_those_of_its_person_alone(world: World) -> None:
    """A second courier of the same loan reads what the first made, and does not write in it."""
    _, examination = seen(world.phone, world.mine)
    second = phone_of(world.mine.loan, "g" * 43)
    assert second.tablet.push("examination", examination, notes="No")["outcome"] == "refused"
    check = world.phone.tablet.made(
        "loan_check", loan=str(world.mine.loan.pk), examination=examination, stage="arrival"
    )
    assert check in living(pulled(second))["loan_check"]


# What comes into a pass, and leaves it, while it is open.


def caught_up(phone: Phone) -> int:
    """The cursor of a phone that has pulled everything."""
    cursor, more = 0, True
    while more:
        page = phone.tablet.get(f"/api/sync/pull?cursor={cursor}").json()
        cursor, more = page["cursor"], page["more"]
    return int(cursor)


def test_an_object_that_joins_the_loan_comes_whole(world: World) -> None:
    cursor = caught_up(world.phone)
    home = world.home
    arranging.add_objects(world.mine.loan, [home.object], PersonFactory())
    got = living(pulled(world.phone, cursor))
    assert got["object"] == {str(home.object.pk)}
    assert str(home.state.pk) in got["examination"]
    assert {str(one.pk) for one in home.observations} <= got["observation"]
    assert str(home.photograph.pk) in got["photograph"]


def test_an_object_that_leaves_the_loan_is_taken_off_the_phone(world: World) -> None:
    loan = world.mine.loan
    [loaned] = arranging.add_objects(loan, [world.home.object], PersonFactory())
    cursor = caught_up(world.phone)
    arranging.remove_object(loaned, PersonFactory())
    gone = {row["id"] for row in pulled(world.phone, cursor) if row["deleted"]}
    home = world.home
    assert {str(home.object.pk), str(home.state.pk), str(home.photograph.pk)} <= gone
    assert {str(one.pk) for one in home.observations} <= gone


def test_a_state_that_is_signed_at_home_comes_with_all_its_parts(world: World) -> None:
    """Its parts were sent before it was signed, when they were none of the courier's."""
    tablet = account()
    visit = tablet.made("visit", purpose="bench", name="Once more")
    key = tablet.made("examination", visit=visit, object=str(world.mine.object.pk))
    seen = tablet.made("observation", examination=key, term="tear")
    cursor = caught_up(world.phone)
    assert key not in living(pulled(world.phone)).get("examination", set())
    signing = {"signed_at": timezone.now().isoformat(), "signed_name": "Wren Vale"}
    assert tablet.push("examination", key, **signing)["outcome"] == "applied"
    got = living(pulled(world.phone, cursor))
    assert key in got["examination"] and seen in got["observation"]


def test_without_an_open_pass_nothing_is_sent_twice() -> None:
    one, home = lent(new_loan()), lent(None)
    arranging.give_pass(one.loan, "Not yet opened", PersonFactory())
    last = log.last_number()
    arranging.add_objects(one.loan, [home.object], PersonFactory())
    assert log.last_number() == last + 1


def test_what_is_sent_again_leaves_the_record_verified(world: World) -> None:
    before = len(list(faults(lambda _: None)))
    arranging.add_objects(world.mine.loan, [world.home.object], PersonFactory())
    assert len(list(faults(lambda _: None))) == before
    assert list(altered_after_signing()) == []
