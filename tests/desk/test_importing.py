"""Bringing a CSV file in at the desk: a dry run first, and nothing imported by accident."""

from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from survey.catalogue.models import Object
from survey.desk.views.importing import KEPT_SECONDS
from tests.desk.conftest import text_of

pytestmark = pytest.mark.django_db

GOOD = "accession_number,title,width_mm\nA.1,Reeds,310\nA.2,Harbour wall,225\n"
MIXED = "accession_number,title,width_mm\nA.1,Reeds,310\nA.2,,225\nA.3,Wall,wide\n"


def check(client, content: str):
    file = SimpleUploadedFile("objects.csv", content.encode())
    return client.post(reverse("desk:import"), {"file": file})


def take(client, what: str):
    return client.post(reverse("desk:import"), {"take": what})


def test_a_dry_run_imports_nothing(desk):
    page = text_of(check(desk, GOOD))
    assert "objects.csv: nothing is imported yet" in page
    assert "2 rows can be imported." in page
    assert not Object.objects.exists()


def test_a_good_file_is_imported_whole(desk):
    check(desk, GOOD)
    page = text_of(take(desk, "all"))
    assert "2 objects imported from objects.csv" in page
    assert Object.objects.count() == 2


def test_each_problem_is_told_by_line_column_value_and_sentence(desk):
    page = check(desk, MIXED)
    text = text_of(page)
    assert "1 row can be imported; 2 lines need mending." in text
    assert "4 width_mm wide “wide” is not a number: write digits alone, without a unit." in text
    assert "3 title (empty)" in text
    assert "Import all" not in text


def test_a_file_with_problems_is_not_imported_whole_even_when_asked(desk):
    check(desk, MIXED)
    take(desk, "all")
    assert not Object.objects.exists()


def test_the_good_rows_alone_are_taken_when_the_person_says_so(desk):
    check(desk, MIXED)
    page = text_of(take(desk, "good"))
    assert "1 object imported" in page
    assert "The 2 lines below were left out." in page
    assert Object.objects.get().accession_number == "A.1"


def test_importing_twice_needs_the_file_again(desk):
    check(desk, GOOD)
    take(desk, "all")
    page = take(desk, "all")
    assert "Choose it again; nothing was imported." in text_of(page)
    assert Object.objects.count() == 2


def test_taking_without_a_file_says_so(desk):
    page = take(desk, "all")
    assert page.status_code == 400
    assert "Choose it again; nothing was imported." in text_of(page)


def test_sending_nothing_asks_for_a_file(desk):
    page = desk.post(reverse("desk:import"), {})
    assert page.status_code == 400
    assert page.context["form"].errors["file"]


def test_a_file_that_is_no_table_is_told_plainly(desk):
    page = desk.post(
        reverse("desk:import"), {"file": SimpleUploadedFile("photo.csv", b"\xff\xd8\xff\xe0 jpeg")}
    )
    assert "not in UTF-8" in text_of(page)
    assert "0 rows can be imported" in text_of(page)


def test_files_laid_aside_long_ago_are_cleared_away(desk, settings):
    import os
    import time

    check(desk, GOOD)
    (old,) = Path(settings.UPLOADS_DIR).glob("import-*.csv")
    past = time.time() - KEPT_SECONDS - 60
    os.utime(old, (past, past))
    check(desk, GOOD)
    assert not old.exists()
    assert len(list(Path(settings.UPLOADS_DIR).glob("import-*.csv"))) == 1


def test_one_person_does_not_import_what_another_laid_aside(desk, head_desk):
    check(desk, GOOD)
    take(head_desk, "all")
    assert not Object.objects.exists()
