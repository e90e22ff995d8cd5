"""Figures as SVG that a page takes in: its own letters, its own inks, nothing named twice."""

import io
import re
import threading
from collections.abc import Callable, Mapping
from typing import Any
from xml.etree import ElementTree

from django.utils.safestring import SafeString, mark_safe

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
# Inks as they are drawn, and what the page makes of them: so a figure follows the look, and is
# black on paper.
# Not black itself: SVG draws in black what names no ink, and none would be written.
INK = "#101010"
LINE = "#808080"
STRONG_LINE = "#6e6e6e"
GROUND = "#ffffff"
INKS = {
    INK: "currentColor",
    LINE: "var(--line)",
    STRONG_LINE: "var(--line-strong)",
    GROUND: "var(--ground)",
}

# Matplotlib's settings are one for the whole process.
_one_at_a_time = threading.Lock()


def drawn(
    draw: Callable[[Any], None], *, width: float, height: float, name: str, label: str
) -> SafeString:
    """A figure as ``<svg>…</svg>``, ``width`` by ``height`` units, with its text as text.

    draw   draws on the matplotlib Figure it is given, one unit a point
    name   a word that no other figure of the page has
    label  what it shows, for whoever cannot see it
    """
    # Loaded only when something is drawn: it takes a second that no other page should wait.
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    settings: Mapping[str, Any] = {
        "svg.fonttype": "none",
        "svg.hashsalt": name,
        "font.family": ["sans-serif"],
        "font.size": 13,
        "text.color": INK,
        "axes.edgecolor": INK,
        "axes.labelcolor": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "axes.labelsize": 13,
        "xtick.labelsize": 12,
        "ytick.labelsize": 13,
        "hatch.color": INK,
        "hatch.linewidth": 0.8,
    }
    written = io.StringIO()
    with _one_at_a_time, matplotlib.rc_context(settings):  # type: ignore[arg-type]
        figure = Figure(figsize=(width / 72, height / 72), dpi=72)
        FigureCanvasSVG(figure)
        draw(figure)
        figure.savefig(
            written,
            format="svg",
            transparent=True,
            metadata=dict.fromkeys(("Date", "Creator", "Format", "Type")),
        )
    return _for_the_page(written.getvalue(), name, label)


def _for_the_page(text: str, name: str, label: str) -> SafeString:
    root = ElementTree.fromstring(text)
    used = set(re.findall(r'(?:url\(#|href="#)([^")]+)', text))
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag in (f"{{{SVG}}}metadata", f"{{{SVG}}}style"):
                parent.remove(child)
    for element in root.iter():
        key = element.attrib.pop("id", None)
        if key in used:
            element.set("id", f"{name}-{key}")
        for attribute, value in list(element.attrib.items()):
            value = value.replace("url(#", f"url(#{name}-")
            if attribute == f"{{{XLINK}}}href":
                value = f"#{name}-{value[1:]}"
            for drawn_as, ink in INKS.items():
                value = value.replace(drawn_as, ink)
            element.set(attribute, value)
        # A page carries no style of its own, so each property is an attribute.
        for said in filter(None, element.attrib.pop("style", "").split(";")):
            property_, _, value = said.partition(":")
            # Size and weight are kept; the letters are the page's.
            if property_.strip() != "font-family":
                element.set(property_.strip(), value.strip())
        if element.tag == f"{{{SVG}}}text":
            element.attrib.setdefault("fill", "currentColor")
        # HTML knows these names without their spaces.
        element.tag = element.tag.removeprefix(f"{{{SVG}}}")
        if f"{{{XLINK}}}href" in element.attrib:
            element.set("href", element.attrib.pop(f"{{{XLINK}}}href"))
    for attribute in ("version", "width", "height"):
        root.attrib.pop(attribute, None)
    for attribute, value in {"class": "plot", "role": "img", "aria-label": label}.items():
        root.set(attribute, value)
    # All words in it are escaped where it is written.
    return mark_safe(ElementTree.tostring(root, encoding="unicode"))
