"""A photograph of a report with all that is drawn on it, as one SVG picture."""

from collections.abc import Iterable
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, tostring

if TYPE_CHECKING:
    from survey.reports.figures import Figure

# Lengths in mm of the printed page.
LETTER_MM = 3.2
RING_MM = 2.2
STRIP_MM = 8.0
HALO_MM, CORE_MM = 0.8, 0.3
# The desk's neutral grey around photographs.
GREY, DARK, LIGHT = "#969696", "#111111", "#ffffff"


def pictures_of(figures: "Iterable[Figure]") -> dict[str, tuple[bytes, str]]:
    """What a document shows of them: (bytes, media type) by the address in it."""
    pictures = {}
    for figure in figures:
        if not figure.trouble:
            pictures[figure.address] = (svg_of(figure).encode(), "image/svg+xml")
            pictures[figure.photograph_address] = (figure.jpeg, "image/jpeg")
    return pictures


def svg_of(figure: "Figure") -> str:
    width, height = figure.size
    mm = figure.px_per_mm
    strip = STRIP_MM * mm if figure.scale else 0.0
    svg = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {width} {height + strip:.1f}",
            "width": f"{width}",
            "height": f"{height + strip:.1f}",
        },
    )
    SubElement(
        svg,
        "image",
        {
            "href": figure.photograph_address,
            "width": f"{width}",
            "height": f"{height}",
            "preserveAspectRatio": "none",
        },
    )
    # All outlines first, so that none runs through a number.
    for shape in figure.shapes:
        for colour, stroke in ((DARK, HALO_MM), (LIGHT, CORE_MM)):
            drawn = {"fill": "none", "stroke": colour, "stroke-width": f"{stroke * mm:.1f}"}
            if shape.is_behind:
                drawn["stroke-dasharray"] = f"{1.6 * mm:.1f} {1.2 * mm:.1f}"
            if shape.is_ring:
                x, y = shape.points[0]
                drawn |= {"cx": f"{x:.1f}", "cy": f"{y:.1f}", "r": f"{RING_MM * mm:.1f}"}
                SubElement(svg, "circle", drawn)
            else:
                points = " ".join(f"{x:.1f},{y:.1f}" for x, y in shape.points)
                SubElement(svg, "polygon", drawn | {"points": points})
    for label in figure.labels:
        box = {
            "x": f"{label.x:.1f}",
            "y": f"{label.y:.1f}",
            "width": f"{label.width:.1f}",
            "height": f"{label.height:.1f}",
            "fill": DARK,
        }
        SubElement(svg, "rect", box)
        centre = label.x + label.width / 2
        _text(svg, label.text, centre, label.y + 0.78 * label.height, mm, LIGHT, "middle")
    if figure.scale:
        _scale(svg, figure.scale.mm, figure.scale.length, height, mm)
    return tostring(svg, encoding="unicode")


def _scale(svg: Element, length_mm: int, length: float, top: float, mm: float) -> None:
    """A ruler on the grey below the picture, with its length beside it."""
    y, tick = top + 0.55 * STRIP_MM * mm, 1.2 * mm
    line = f"M0,{y - tick:.1f} v{2 * tick:.1f} M0,{y:.1f} h{length:.1f} m0,{-tick:.1f}"
    stroke = {"stroke": DARK, "stroke-width": f"{0.4 * mm:.1f}", "fill": "none"}
    inset = 0.2 * mm
    ruler = SubElement(svg, "g", {"transform": f"translate({inset:.1f} 0)"})
    SubElement(ruler, "path", stroke | {"d": f"{line} v{2 * tick:.1f}"})
    _text(svg, f"{length_mm} mm", length + 2 * mm, y + 1.1 * mm, mm, DARK, "start")


def _text(svg: Element, text: str, x: float, y: float, mm: float, colour: str, anchor: str) -> None:
    written = SubElement(
        svg,
        "text",
        {
            "x": f"{x:.1f}",
            "y": f"{y:.1f}",
            "font-size": f"{LETTER_MM * mm:.1f}",
            "font-family": "Noto Sans, Liberation Sans, DejaVu Sans, sans-serif",
            "text-anchor": anchor,
            "fill": colour,
        },
    )
    written.text = text
