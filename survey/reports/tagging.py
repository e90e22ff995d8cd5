"""What the library leaves out of a tagged PDF, written into it before it is closed.

A header cell says whether it heads a column or a row (ISO 32000-1, 14.8.5.7, table 349: Scope);
and where cells name their headers by identifier, the tree of structure holds a list of the
identifiers (ISO 32000-1, 14.7.2, table 322: IDTree). Both tables are cited from memory.
"""

from typing import Any

import pydyf


def finish(document: Any, pdf: Any) -> None:
    """For WeasyPrint's ``finisher``: the document and the PDF that is about to be written."""
    dictionaries = [one for one in pdf.objects if isinstance(one, pydyf.Dictionary)]
    elements = {one.reference: one for one in dictionaries if one.get("Type") == "/StructElem"}
    for element in elements.values():
        if element["S"] == "/TH":
            heads = "/Column" if _lies_in(element, "/THead", elements) else "/Row"
            element["A"]["Scope"] = heads
    named = sorted(
        (one for one in elements.values() if "ID" in one), key=lambda one: one["ID"].data
    )
    if named:
        [root] = [one for one in dictionaries if one.get("Type") == "/StructTreeRoot"]
        pairs = [part for one in named for part in (one["ID"], one.reference)]
        root["IDTree"] = pydyf.Dictionary({"Names": pydyf.Array(pairs)})


def _lies_in(element: Any, tag: str, elements: dict[bytes, Any]) -> bool:
    while element is not None and element["S"] != tag:
        element = elements.get(element["P"])
    return element is not None
