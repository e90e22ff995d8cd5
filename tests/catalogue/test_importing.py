"""Import of objects: every mistake is named by line and column, and nothing comes in half."""

from pathlib import Path
from unittest.mock import patch

import pytest
from django.db import IntegrityError

from survey.catalogue.importing import ImportReport, import_objects
from survey.catalogue.models import LONGEST_SHEET_MM, Location, Object
from survey.sync.models import Change
from tests.factories import ObjectFactory, PersonFactory, location_chain

pytestmark = pytest.mark.django_db

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"


@pytest.fixture
def shelf() -> Location:
    return location_chain("Port Ellery", "Store", "Room 2", "Cabinet 4", "Shelf 1")


def dry_run(text: str) -> ImportReport:
    return import_objects(text.encode(), None)


def sentence(text: str) -> str:
    """The one problem of a file."""
    (problem,) = dry_run(text).problems
    return str(problem)


def test_it_imports_a_good_file(shelf: Location) -> None:
    report = import_objects((FIXTURES / "objects.csv").read_bytes(), None, commit=True)
    assert report == ImportReport(good_rows=4, problems=[], imported=4)
    first = Object.objects.get(accession_number="PE.2024.1")
    assert first.title == "Harbour wall, low tide"
    assert (first.earliest_year, first.latest_year) == (1870, 1880)
    assert (first.width_mm, first.height_mm) == (312.5, 224)
    assert (first.studio, first.significance, first.value_band) == ("paper", "high", "b")
    assert first.location == shelf
    third = Object.objects.get(accession_number="PE.2024.3")
    assert (third.width_mm, third.earliest_year, third.location) == (None, None, None)
    assert third.off_site_place == "Framer's workshop"
    assert (third.studio, third.significance, third.value_band) == ("paper", "unassessed", "")
    assert Object.objects.get(accession_number="PE.2024.4").maker == "Bartholomäus Quint"


def test_it_writes_nothing_in_a_dry_run(shelf: Location) -> None:
    report = import_objects((FIXTURES / "objects.csv").read_bytes(), None)
    assert (report.good_rows, report.imported) == (4, 0)
    assert not Object.objects.exists()


def test_it_logs_every_object_for_the_tablets(shelf: Location) -> None:
    person = PersonFactory()
    import_objects((FIXTURES / "objects.csv").read_bytes(), person, commit=True)
    changes = Change.objects.filter(entity="object", person=person)
    assert {change.entity_id for change in changes} == {
        str(key) for key in Object.objects.values_list("pk", flat=True)
    }
    assert all(Object.objects.values_list("revision", flat=True))


def test_it_names_every_mistake_by_line_and_column(shelf: Location) -> None:
    report = import_objects((FIXTURES / "objects-with-mistakes.csv").read_bytes(), None)
    found = [(problem.line, problem.column, problem.value) for problem in report.problems]
    assert found == [
        (1, "width", "width"),
        (2, "width_mm", "312,5"),
        (2, "latest_year", "1870"),
        (3, "width_mm", "0"),
        (3, "studio", "sculpture"),
        (3, "location", "Port Ellery › Store › Room 9 › Shelf 1"),
        (4, "height_mm", "26000"),
        (4, "earliest_year", "about 1881"),
        (4, "accession_number", "PE.2024.2"),
        (5, "accession_number", ""),
        (7, "", "PE.2024.6;Too few cells;x;180"),
    ]
    assert report.good_rows == 1


def test_it_imports_nothing_while_one_row_is_bad(shelf: Location) -> None:
    content = (FIXTURES / "objects-with-mistakes.csv").read_bytes()
    assert import_objects(content, None, commit=True).imported == 0
    assert not Object.objects.exists()


def test_it_takes_the_good_rows_when_asked(shelf: Location) -> None:
    content = (FIXTURES / "objects-with-mistakes.csv").read_bytes()
    report = import_objects(content, None, commit=True, take_good_rows=True)
    assert report.imported == 1
    assert [item.title for item in Object.objects.all()] == ["A good row"]


def test_it_undoes_everything_when_the_database_fails_midway(shelf: Location) -> None:
    content = (FIXTURES / "objects.csv").read_bytes()
    with (
        patch("survey.catalogue.importing.log_many", side_effect=IntegrityError),
        pytest.raises(IntegrityError),
    ):
        import_objects(content, None, commit=True)
    assert not Object.objects.exists()


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("12,5", "line 2, width_mm: “12,5” has a comma: write decimals with a full stop, as 12.5"),
        (
            "300 mm",
            "line 2, width_mm: “300 mm” is not a number: write digits alone",
        ),
        ("1_000", "line 2, width_mm: “1_000” is not a number"),
        ("nan", "line 2, width_mm: “nan” is not a number"),
        ("0", "line 2, width_mm: A size is at least 1 mm"),
        ("-3", "line 2, width_mm: A size is at least 1 mm"),
        (str(LONGEST_SHEET_MM + 1), "line 2, width_mm: A size is at most 10000 mm"),
    ],
)
def test_it_says_what_is_wrong_with_a_size(cell: str, said: str) -> None:
    assert sentence(f'accession_number,title,width_mm\n1,Reeds,"{cell}"').startswith(said)


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ("1890,1880", "line 2, latest_year: The latest year, 1880, is before the earliest, 1890"),
        ("c. 1880,", "line 2, earliest_year: “c. 1880” is not a number"),
        ("1880.5,", "line 2, earliest_year: A year is a whole number"),
        ("9999,", "line 2, earliest_year: The year 9999 lies ahead"),
        ("99999999999,", "line 2, earliest_year: A year is a whole number"),
    ],
)
def test_it_says_what_is_wrong_with_a_year(cells: str, said: str) -> None:
    text = f"accession_number,title,earliest_year,latest_year\n1,Reeds,{cells}"
    assert sentence(text).startswith(said)


@pytest.mark.parametrize("column", ["studio", "significance", "value_band"])
def test_it_lists_the_choices_when_one_is_unknown(column: str) -> None:
    said = sentence(f"accession_number,title,{column}\n1,Reeds,finest")
    assert said.startswith(f"line 2, {column}: “finest” is not one of: ")


def test_it_refuses_a_title_that_is_too_long_and_one_that_is_missing() -> None:
    assert "longer than 300 characters" in sentence(f"accession_number,title\n1,{'a' * 301}")
    assert sentence("accession_number,title\n1, ") == (
        "line 2, title: This may not stay empty: write something here."
    )


def test_it_refuses_a_number_that_the_catalogue_has_however_it_is_capitalised() -> None:
    ObjectFactory(accession_number="PE.12a")
    assert "The catalogue already has" in sentence("accession_number,title\npe.12A,Reeds")


def test_it_refuses_a_number_that_stands_twice_in_the_file() -> None:
    said = sentence("accession_number,title\nPE.1,Reeds\nPE.2,Wall\npe.1 ,Reeds")
    assert said == (
        "line 4, accession_number: Line 2 has the same accession number: keep one of the two."
    )


def test_it_says_how_far_a_location_path_is_known(shelf: Location) -> None:
    said = sentence("accession_number,title,location\n1,Reeds,port ellery > Store > Room 7")
    assert "no “Room 7” within port ellery › Store of the tree" in said


def test_it_refuses_a_location_and_a_place_outside_the_tree_at_once(shelf: Location) -> None:
    text = "accession_number,title,location,off_site_place\n1,Reeds,Port Ellery,Framer"
    assert sentence(text).startswith("line 2, off_site_place: Say one of the two")


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("start", [b"", b"\xef\xbb\xbf"])
def test_it_reads_what_spreadsheets_write(separator: str, ending: str, start: bytes) -> None:
    lines = [["Accession Number", "TITLE", "width_mm"], ["1", '"Reeds, wind; rain"', "12.5"], [""]]
    text = ending.join(separator.join(cells) for cells in lines)
    report = import_objects(start + text.encode(), None, commit=True)
    assert report == ImportReport(1, [], 1)
    assert Object.objects.get().title == "Reeds, wind; rain"


def test_it_counts_lines_over_a_cell_that_holds_several() -> None:
    text = 'accession_number,title,media\n1,Reeds,"pen\nand\nwash"\n2,,ink'
    assert sentence(text).startswith("line 5, title")


@pytest.mark.parametrize(
    ("content", "line", "said"),
    [
        (b"", 1, "The file is empty"),
        (b"\xef\xbb\xbf \n\n", 1, "The file is empty"),
        (b",,\n,,\n", 1, "The file has no rows"),
        (b"accession_number,title\n", 1, "The file has no rows"),
        ("accession_number,title\n1,F\u00e4hre".encode("latin-1"), 2, "The file is not in UTF-8"),
        ("accession_number,title\n1,Reeds".encode("utf-16"), 1, "The file is in UTF-16"),
        (b"PK\x03\x04\x00\x00", 1, "This is not a text file"),
        (b'accession_number,title\n1,Reeds\n2,"Wall\n3,Tide\n', 3, "a quotation mark is opened"),
    ],
)
def test_it_says_why_a_file_cannot_be_read(content: bytes, line: int, said: str) -> None:
    (problem,) = import_objects(content, None, commit=True, take_good_rows=True).problems
    assert problem.line == line
    assert said in problem.sentence


def test_it_asks_for_missing_headings_and_suggests_for_unknown_ones() -> None:
    report = dry_run("accesion_number,title,colour\n1,Reeds,red")
    assert report.good_rows == 0
    assert [problem.column for problem in report.problems] == [
        "accession_number",
        "accesion_number",
        "colour",
    ]
    assert "“accession_number” is missing" in report.problems[0].sentence
    assert "Did you mean “accession_number”?" in report.problems[1].sentence
    assert "Use any of: accession_number, title" in report.problems[2].sentence


def test_it_refuses_a_heading_that_stands_twice() -> None:
    assert "stands here twice" in sentence("accession_number,title,Title\n1,Reeds,Wall")


def test_it_says_when_a_row_has_too_many_cells() -> None:
    said = sentence("accession_number,title\n1,Reeds, wind")
    assert "has 3 cells where the headings have 2" in said


def test_it_asks_the_database_as_often_for_a_long_file_as_for_a_short_one(
    django_assert_max_num_queries,
) -> None:
    rows = "\n".join(f"PE.{number},Reeds" for number in range(1200))
    with django_assert_max_num_queries(2):
        assert dry_run(f"accession_number,title\n{rows}").good_rows == 1200
