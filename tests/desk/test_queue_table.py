"""The queue as a workbook: typed cells, units in the heads, and no text that calculates."""

from datetime import datetime, timedelta
from io import BytesIO

import pytest
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from survey.triage import handing, holding, models, placing
from tests.factories import (
    NeedFactory,
    ObjectFactory,
    ObservationFactory,
    RecommendationFactory,
    TermFactory,
    examined,
)

pytestmark = pytest.mark.django_db


def work(number: str, grade: str = "fair", hours: float | None = 4.0, note: str = "", **values):
    item = ObjectFactory(accession_number=number, **values)
    return RecommendationFactory(
        examination=examined(3, object=item, grade=grade), hours=hours, note=note
    )


def book_of(client, **filters):
    answer = client.get(reverse("desk:queue-table"), filters)
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("application/vnd.openxmlformats")
    assert f"queues-{timezone.localdate():%Y-%m-%d}.xlsx" in answer["Content-Disposition"]
    return load_workbook(BytesIO(answer.content))


def rows_of(sheet) -> list[dict]:
    heads = [cell.value for cell in sheet[1]]
    return [
        dict(zip(heads, (cell.value for cell in row), strict=True))
        for row in sheet.iter_rows(min_row=2)
    ]


def test_rows_stand_in_their_places_with_typed_values_and_units_in_the_heads(desk):
    first = work("A", "unstable", hours=2.5, title="Reeds", note="Mend the tear.")
    due = timezone.localdate() + timedelta(days=30)
    NeedFactory(object=first.examination.object, title="Ink", due=due)
    work("B", "good", hours=None)
    queue = book_of(desk)["Queue"]
    rows = rows_of(queue)
    assert [row["Place"] for row in rows] == [1, 2]
    assert rows[0]["Accession number"] == "A" and rows[0]["Title"] == "Reeds"
    assert rows[0]["What is to be done"] == "Mend the tear."
    assert (rows[0]["Hours estimated, h"], rows[1]["Hours estimated, h"]) == (2.5, None)
    assert isinstance(rows[0]["Score, points of 100"], float | int)
    assert rows[0]["Risk if left, points"] == 35
    assert rows[0]["Needed by"].date() == due
    assert rows[0]["Examined on"].date() == timezone.localdate() - timedelta(days=3)
    assert (rows[0]["Best place, weights ±20 %"], rows[0]["Worst place, weights ±20 %"]) == (1, 1)
    parts = [rows[0][f"{name}, points"] for name in (
        "Risk if left", "Loss already seen", "Significance", "Need", "Readiness",
    )]  # fmt: skip
    assert sum(parts) == pytest.approx(rows[0]["Score, points of 100"])


def test_the_head_stays_in_view_and_dates_are_formatted_as_such(desk):
    work("A")
    queue = book_of(desk)["Queue"]
    assert queue.freeze_panes == "A2"
    heads = [cell.value for cell in queue[1]]
    assert queue.cell(2, heads.index("Examined on") + 1).number_format == "yyyy-mm-dd"
    assert queue.cell(2, heads.index("Score, points of 100") + 1).number_format == "0.0"
    assert all(cell.font.bold for cell in queue[1])


@pytest.mark.parametrize("start", ["=", "+", "-", "@"])
def test_text_that_looks_like_a_formula_stays_text(desk, start):
    words = f'{start}HYPERLINK("http://elsewhere.example/","Reeds")'
    work("A", title=words, note=words)
    queue = book_of(desk)["Queue"]
    cells = [cell for cell in queue[2] if cell.value == words]
    assert len(cells) == 2
    assert all(cell.data_type == "s" and cell.quotePrefix for cell in cells)


def test_no_cell_of_any_sheet_is_a_formula(desk, head):
    models.Weights.objects.create(reason="=1+1", saved_by=head)
    row = work("=A1", title="=A2", maker="+A3", note="@SUM(A1)")
    NeedFactory(object=row.examination.object, title="=A4", due=timezone.localdate())
    handing.hand_over(row.pk, person=head, to_person=head, reason="=A5")
    book = book_of(desk, text="=A1")
    types = {cell.data_type for sheet in book for line in sheet.iter_rows() for cell in line}
    assert "f" not in types


def test_what_no_spreadsheet_can_hold_is_left_out_and_the_rest_kept(desk):
    work("A", note="Tear\x07 at the edge")
    assert rows_of(book_of(desk)["Queue"])[0]["What is to be done"] == "Tear  at the edge"


def test_only_what_passes_the_filters_is_in_it_and_they_are_named(desk):
    work("A", significance="high")
    work("B", significance="low")
    book = book_of(desk, significance="low")
    assert [row["Accession number"] for row in rows_of(book["Queue"])] == ["B"]
    about = {row["What"]: row["Value"] for row in rows_of(book["About"])}
    assert about["Filters"] == "Significance: Low"
    assert about["Pieces of work"] == 1


def test_held_work_and_what_cannot_wait_say_where_they_stand(desk, head):
    row, wet = work("A"), work("B")
    until = timezone.localdate() + timedelta(days=9)
    holding.hold(row.pk, person=head, reason="No room", until=until)
    (held,) = rows_of(book_of(desk, held="yes")["Queue"])
    assert (held["Stands in"], held["Place"]) == ("Held", None)
    assert held["Moved, held or handed over"].endswith(": No room")
    ObservationFactory(examination=wet.examination, term=TermFactory(hazards=["wet"]))
    (urgent,) = rows_of(book_of(desk, hazard="any")["Queue"])
    assert (urgent["Stands in"], urgent["Accession number"]) == ("Act now", "B")


def test_all_queues_begin_with_act_now_and_end_with_what_is_held(desk, head):
    work("A")
    held, wet = work("B"), work("C")
    dry = examined(2, object=ObjectFactory(accession_number="D"))
    until = timezone.localdate() + timedelta(days=9)
    holding.hold(held.pk, person=head, reason="No room", until=until)
    for examination in (wet.examination, dry):
        ObservationFactory(examination=examination, term=TermFactory(hazards=["wet"]))
    book = book_of(desk)
    rows = rows_of(book["Queue"])
    assert [(row["Stands in"], row["Accession number"]) for row in rows] == [
        ("Act now", "C"), ("Queue", "A"), ("Held", "B"),
    ]  # fmt: skip
    first, second, last = rows
    assert first["Why act now, or held"].startswith("Wet or damp: ")
    assert first["Hazard seen on"].date() == timezone.localdate() - timedelta(days=3)
    assert (second["Why act now, or held"], second["Held until"]) == (None, None)
    assert last["Why act now, or held"].endswith(". Ottilie Crane: No room")
    assert last["Held until"].date() == until
    about = {row["What"]: row["Value"] for row in rows_of(book["About"])}
    assert about["Pieces of work"] == 3
    assert about["Objects in act now with no work recommended yet"] == 1


def test_filters_narrow_what_is_held_and_what_cannot_wait_too(desk, head):
    held, wet = work("A", significance="low"), work("B", significance="high")
    until = timezone.localdate() + timedelta(days=9)
    holding.hold(held.pk, person=head, reason="No room", until=until)
    ObservationFactory(examination=wet.examination, term=TermFactory(hazards=["wet"]))
    for significance, stands_in in (("low", "Held"), ("high", "Act now")):
        rows = rows_of(book_of(desk, significance=significance)["Queue"])
        assert [row["Stands in"] for row in rows] == [stands_in]


def test_moves_and_hand_overs_are_told(desk, head, conservator):
    row = work("A", "good")
    work("B", "poor")
    placing.move(row.pk, person=head, place=1, reason="Wanted")
    handing.hand_over(row.pk, person=conservator, to_person=conservator, reason="Mine")
    first = rows_of(book_of(desk)["Queue"])[0]
    assert (first["Place"], first["Place by the rule"], first["With"]) == (1, 2, "Wren Halloway")
    assert (
        "Moved from place 2 to 1 by Ottilie Crane: Wanted" in (first["Moved, held or handed over"])
    )


def test_it_says_under_which_weights_and_when_it_was_made(desk, head):
    saved = models.Weights.objects.create(risk=50, loss=50, significance=0, need=0, readiness=0,
                                          reason="A trial", saved_by=head)  # fmt: skip
    work("A")
    about = {row["What"]: row["Value"] for row in rows_of(book_of(desk)["About"])}
    assert about["Weights"] == f"Version {saved.pk}"
    assert about["Weights saved on"].date() == timezone.localdate()
    assert (about["Weights saved by"], about["Why these weights"]) == ("Ottilie Crane", "A trial")
    assert about["Risk if left, most points of 100"] == 50
    assert isinstance(about["Made on"], datetime)


def test_why_each_row_stands_where_it_stands_is_on_a_sheet_of_its_own(desk):
    row = work("A", "poor")
    ObservationFactory(examination=row.examination, term=TermFactory(name="Long tear"))
    lines = rows_of(book_of(desk)["Why"])
    assert {line["Part of the score"] for line in lines} == {
        "Risk if left", "Loss already seen", "Significance", "Need", "Readiness",
    }  # fmt: skip
    (loss,) = [line for line in lines if line["Part of the score"] == "Loss already seen"]
    assert loss["Because"].startswith("Long tear, slight")
    assert loss["Of"] == 20


def test_an_empty_queue_is_a_table_with_a_head(desk):
    book = book_of(desk)
    assert rows_of(book["Queue"]) == []
    assert book.sheetnames == ["Queue", "Why", "About"]
