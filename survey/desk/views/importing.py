"""Bringing a CSV file in: first a dry run that names every bad row, then the import."""

import time
import uuid
from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from survey.catalogue.importing import COLUMNS, NEEDED, import_objects
from survey.desk.forms import ImportForm
from survey.desk.views.objects import check_may_edit
from survey.desk.views.session import person_of

PROBLEMS_SHOWN = 500
KEPT_SECONDS = 24 * 3600
KEPT_AS = "import"


@login_required
def import_page(request: HttpRequest) -> HttpResponse:
    """Choose a file; see what is wrong with it; import all of it, or the good rows only."""
    check_may_edit(request)
    context = {"form": ImportForm(), "columns": COLUMNS, "needed": NEEDED}
    if request.method != "POST":
        return render(request, "desk/import.html", context)
    if "file" in request.FILES:
        form = ImportForm(request.POST, request.FILES)
        if not form.is_valid():
            return render(request, "desk/import.html", context | {"form": form}, status=400)
        file = form.cleaned_data["file"]
        content = file.read()
        request.session[KEPT_AS] = {"key": keep(content), "name": file.name}
        report = import_objects(content, person_of(request))
    elif request.POST.get("take") in ("all", "good"):
        kept = kept_file(request)
        if kept is None:
            return render(request, "desk/import.html", context | {"is_gone": True}, status=400)
        report = import_objects(
            kept.read_bytes(),
            person_of(request),
            commit=True,
            take_good_rows=request.POST["take"] == "good",
        )
        if report.imported:
            kept.unlink()
    else:
        form = ImportForm(request.POST, request.FILES)
        return render(request, "desk/import.html", context | {"form": form}, status=400)
    return render(
        request,
        "desk/import.html",
        context
        | {
            "report": report,
            "problems": report.problems[:PROBLEMS_SHOWN],
            "problems_more": max(0, len(report.problems) - PROBLEMS_SHOWN),
            "bad_lines": len({problem.line for problem in report.problems}),
            "file_name": request.session[KEPT_AS]["name"],
        },
    )


def keep(content: bytes) -> str:
    """Lay the file aside until the person has read the report. Older ones are cleared away."""
    folder = Path(settings.UPLOADS_DIR)
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("import-*.csv"):
        if old.stat().st_mtime < time.time() - KEPT_SECONDS:
            old.unlink(missing_ok=True)
    key = uuid.uuid4().hex
    (folder / f"import-{key}.csv").write_bytes(content)
    return key


def kept_file(request: HttpRequest) -> Path | None:
    """The file that this person laid aside last; None when it is there no more."""
    kept = request.session.get(KEPT_AS)
    if kept is None:
        return None
    path = Path(settings.UPLOADS_DIR) / f"import-{kept['key']}.csv"
    return path if path.exists() else None
