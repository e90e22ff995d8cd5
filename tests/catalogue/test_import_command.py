"""The command line of the import."""

import io
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from survey.catalogue.models import Object
from survey.sync.models import Change
from tests.factories import PersonFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def good(tmp_path: Path) -> Path:
    path = tmp_path / "good.csv"
    path.write_text("accession_number,title\n1,Reeds\n2,Wall\n")
    return path


@pytest.fixture
def half_good(tmp_path: Path) -> Path:
    path = tmp_path / "half-good.csv"
    path.write_text("accession_number,title\n1,Reeds\n2,\n")
    return path


def run(*arguments: object) -> str:
    said = io.StringIO()
    call_command("import_objects", *map(str, arguments), stdout=said, stderr=said)
    return said.getvalue()


def test_it_is_a_dry_run_until_told_to_commit(good: Path) -> None:
    assert "2 good rows, 0 problems.\nNothing was written" in run(good)
    assert not Object.objects.exists()


def test_it_imports_in_the_name_of_a_person(good: Path) -> None:
    person = PersonFactory(username="ada")
    assert "Imported 2 objects." in run(good, "--commit", "--person", "ada")
    assert Change.objects.filter(person=person).count() == 2


def test_it_lists_problems_and_imports_nothing(half_good: Path) -> None:
    with pytest.raises(CommandError, match="Nothing was imported"):
        run(half_good, "--commit")
    assert "line 3, title: This may not stay empty" in run(half_good)
    assert not Object.objects.exists()


def test_it_takes_the_good_rows_when_asked(half_good: Path) -> None:
    assert "Imported 1 objects." in run(half_good, "--commit", "--take-good-rows")


def test_it_says_when_the_file_or_the_person_is_not_there(good: Path, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="cannot be read: No such file"):
        run(tmp_path / "absent.csv")
    with pytest.raises(CommandError, match="Nobody has the user name “nobody”"):
        run(good, "--person", "nobody")
