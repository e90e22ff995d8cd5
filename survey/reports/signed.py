"""Signatures as they were drawn, and the file by which anybody can hold a signing to its words."""

from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement, tostring

from survey.loans.models import LoanCheck, Signature
from survey.loans.signed_files import ATTACHED, as_json, signed_of
from survey.loans.statements import sha256_of
from survey.reports.job import Attached
from survey.reports.words import moment_in_words

# Works out the SHA-256 of what was signed, from the attached file.
COMMAND = (
    "python3 -c \"import json, hashlib; print(hashlib.sha256(json.load(open('signed.json'))"
    "['statement'].encode()).hexdigest())\""
)
# A signature on the page, mm; strokes come in thousandths of the width of the field.
WIDTH_MM = 62.0
FIELD = 1000.0
STROKE, MARGIN = 7.0, 12.0
INK = "#161616"


@dataclass(frozen=True)
class Signed:
    """One signature.

    svg       "" when it was given with the name alone
    is_other  it belongs to other words than those that are kept
    """

    name: str
    role: str
    of: str
    at: str
    address: str
    svg: str
    is_other: bool

    @property
    def alt(self) -> str:
        return f"Signature of {self.name}, {self.role.lower()}, drawn by hand"


def signatures_of(check: LoanCheck) -> list[Signed]:
    """In the order in which they were given."""
    digest = sha256_of(check.statement)
    return [
        Signed(
            one.name,
            one.get_role_display(),
            one.of,
            moment_in_words(one.signed_at),
            f"signature:{one.pk}",
            drawn(one),
            one.sha256 != digest,
        )
        for one in _living(check)
    ]


def signed_file(check: LoanCheck, name: str = ATTACHED) -> Attached:
    """``signed.json``, or by another name: what was signed, word for word, and the signatures.

    ASCII only, so that it reads the same whatever a program takes its encoding for.
    """
    return Attached(
        name,
        "What was signed, word for word, and the signatures",
        as_json(signed_of(check)).encode("ascii"),
    )


def drawn(signature: Signature) -> str:
    """As SVG, with little white about it; "" when nothing was drawn."""
    points = [point for stroke in signature.strokes for point in stroke]
    if not points:
        return ""
    top = max(0.0, min(y for _, y in points) - MARGIN)
    bottom = max(y for _, y in points) + MARGIN
    svg = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 {top:.1f} {FIELD:.0f} {bottom - top:.1f}",
            "width": f"{WIDTH_MM}mm",
            "height": f"{WIDTH_MM * (bottom - top) / FIELD:.1f}mm",
        },
    )
    for stroke in signature.strokes:
        if len(stroke) == 1:
            [(x, y)] = stroke
            dot = {"cx": f"{x:.1f}", "cy": f"{y:.1f}", "r": f"{STROKE / 2}", "fill": INK}
            SubElement(svg, "circle", dot)
        else:
            line = {
                "points": " ".join(f"{x:.1f},{y:.1f}" for x, y in stroke),
                "fill": "none",
                "stroke": INK,
                "stroke-width": f"{STROKE}",
                "stroke-linecap": "round",
                "stroke-linejoin": "round",
            }
            SubElement(svg, "polyline", line)
    return tostring(svg, encoding="unicode")


def _living(check: LoanCheck) -> list[Signature]:
    return list(check.signatures.filter(deleted_at=None).order_by("signed_at", "id"))
