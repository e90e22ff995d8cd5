"""Pages from HTML, as a tagged PDF. The library and what it needs are loaded only when used.

WeasyPrint reads the HTML and writes PDF/UA-1 (ISO 14289-1): tags, language, title and
alternative texts. It lays text out with Pango, which comes from the system and not from PyPI.
"""

import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from PIL import ImageFile

from survey.bootstrap import PANGO_PACKAGES, has_pango
from survey.reports.job import Attached, Pictures, Say
from survey.reports.trouble import NotMade

VARIANT = "pdf/ua-1"
NO_PANGO = (
    "This server cannot make PDF reports yet: it lacks the library Pango. Whoever looks after "
    f"Fieldleaf installs it (on Debian: apt-get install {' '.join(PANGO_PACKAGES)}) and starts the "
    "worker again. Everything else works as before."
)

# The library's steps, as it numbers them, told as shares of the whole.
STEPS = {
    "Step 3": (0.1, "Reading the style sheet"),
    "Step 4": (0.2, "Setting the text"),
    "Step 5": (0.4, "Laying out the pages"),
    "Step 6": (0.7, "Drawing the pages"),
    "Step 7": (0.95, "Closing the document"),
}


def lacking() -> str:
    """A sentence when this server lacks what reports need; a quick look, "" when all is there."""
    return "" if has_pango() else NO_PANGO


def render(
    html: str, pictures: Pictures, say: Say, attached: Sequence[Attached] = ()
) -> tuple[bytes, int]:
    """The document and its number of pages.

    html      addresses in it are looked up in ``pictures`` alone: nothing is ever fetched
    say       is told the share done, 0…1, and the step
    attached  travels within the document

    Raises NotMade with a sentence when the library cannot be loaded.
    """
    weasyprint = _library()
    from survey.reports.tagging import finish

    class Kept(weasyprint.URLFetcher):  # type: ignore[name-defined]
        def fetch(self, url: str, headers: Any = None) -> Any:
            content, media_type = pictures[url]
            return weasyprint.urls.URLFetcherResponse(url, content, {"Content-Type": media_type})

    with _told(say):
        document = weasyprint.HTML(string=html, url_fetcher=Kept()).render(pdf_variant=VARIANT)
        files = [
            weasyprint.Attachment(string=one.content, name=one.name, description=one.description)
            for one in attached
        ]
        written = document.write_pdf(finisher=finish, pdf_variant=VARIANT, attachments=files)
        return written, len(document.pages)


def _library() -> Any:
    try:
        import weasyprint
    except OSError as error:
        raise NotMade(NO_PANGO) from error
    # It has Pillow take half a picture for a whole one, everywhere in this process: not here.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    return weasyprint


@contextmanager
def _told(say: Say) -> Iterator[None]:
    """Tell the library's steps; what ``say`` raises ends the work."""
    logger = logging.getLogger("weasyprint.progress")
    before, handler = logger.level, _Steps(say)
    logger.addHandler(handler)
    logger.setLevel(logging.INFO)
    try:
        yield
    finally:
        logger.removeHandler(handler)
        logger.setLevel(before)


class _Steps(logging.Handler):
    def __init__(self, say: Say) -> None:
        super().__init__()
        self._say = say

    def emit(self, record: logging.LogRecord) -> None:
        step = STEPS.get(record.getMessage()[:6])
        if step is not None:
            self._say(*step)
