"""What ISO 14289-1:2014 (PDF/UA-1) asks of a document, as far as its own structure tells.

Each rule names its clause. Those of 5 to 7.4 and 7.11 to 7.21 were looked up in the PDF/UA-1
profile that the veraPDF Consortium publishes; 7.5 and 7.17 are from memory. Whether the words of
an alternative text say what the picture shows, only a person can tell.
"""

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from pypdf import PdfReader, PdfWriter
from pypdf.generic import ContentStream, IndirectObject

# ISO 32000-1, 14.8.4.
STANDARD = {
    *("Document", "Part", "Art", "Sect", "Div", "BlockQuote", "Caption", "TOC", "TOCI", "Index"),
    *("NonStruct", "Private", "P", "H", "H1", "H2", "H3", "H4", "H5", "H6", "L", "LI", "Lbl"),
    *("LBody", "Table", "TR", "TH", "TD", "THead", "TBody", "TFoot", "Span", "Quote", "Note"),
    *("Reference", "BibEntry", "Code", "Link", "Annot", "Ruby", "RB", "RT", "RP", "Warichu"),
    *("WT", "WP", "Figure", "Formula", "Form"),
}
# What may lie in what.
PARENTS = {
    "LI": {"L"},
    "LBody": {"LI"},
    "Lbl": {"LI", "TOCI", "Note"},
    "THead": {"Table"},
    "TBody": {"Table"},
    "TFoot": {"Table"},
    "TR": {"Table", "THead", "TBody", "TFoot"},
    "TH": {"TR"},
    "TD": {"TR"},
}
CHILDREN = {
    "L": {"L", "LI", "Caption"},
    "LI": {"Lbl", "LBody"},
    "Table": {"TR", "THead", "TBody", "TFoot", "Caption"},
    "THead": {"TR"},
    "TBody": {"TR"},
    "TFoot": {"TR"},
    "TR": {"TH", "TD"},
}
# Operators that put something on the page.
PAINTS = {b"Tj", b"TJ", b"'", b'"', b"Do", b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*"}


def faults(document: PdfReader) -> list[str]:
    """A sentence for each place where a document falls short, with the clause; none is good."""
    root: Any = document.root_object
    rules = (
        _document,
        _structure,
        _headings,
        _tables,
        _pages,
        _annotations,
        _fonts,
        _files,
    )
    return [fault for rule in rules for fault in rule(document, root)]


def elements(document: PdfReader | PdfWriter) -> Iterator[tuple[Any, str]]:
    """Every element of the structure in reading order, with the type of its parent."""

    def walk(node: Any, parent: str) -> Iterator[tuple[Any, str]]:
        for one in node if isinstance(node, list) else [node]:
            found = _plain(one)
            if isinstance(found, list):
                yield from walk(found, parent)
            elif isinstance(found, dict) and "/S" in found:
                yield found, parent
                yield from walk(_plain(found.get("/K", [])), _type(found))

    root: Any = document.root_object
    if "/StructTreeRoot" in root:
        yield from walk(_plain(root["/StructTreeRoot"].get("/K", [])), "")


def _document(document: PdfReader, root: Any) -> Iterator[str]:
    metadata = root["/Metadata"].get_data() if "/Metadata" in root else b""
    if not metadata:
        yield "7.1: no metadata"
    if b'pdfuaid:part="1"' not in metadata and b"<pdfuaid:part>1<" not in metadata:
        yield "5: it does not call itself PDF/UA-1"
    if b"dc:title" not in metadata or not (document.metadata and document.metadata.title):
        yield "7.1: no title"
    marked = root.get("/MarkInfo", {})
    if not marked.get("/Marked"):
        yield "6.2: not marked as tagged"
    if marked.get("/Suspects"):
        yield "7.1: its tags are called suspect"
    if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle"):
        yield "7.1: a reader would show the file's name for its title"
    if not str(root.get("/Lang", "")).partition("-")[0].isalpha():
        yield "7.2: no language"
    if document.is_encrypted:
        yield "7.16: encrypted"
    if len(document.pages) > 1 and not document.outline:
        yield "7.17: no bookmarks"


def _structure(document: PdfReader, root: Any) -> Iterator[str]:
    if not any(True for _ in elements(document)):
        yield "7.1: no structure"
    mapped = {name.lstrip("/") for name in root.get("/StructTreeRoot", {}).get("/RoleMap", {})}
    for element, parent in elements(document):
        kind = _type(element)
        if kind not in STANDARD | mapped:
            yield f"7.1: {kind} is no standard type"
        if kind in PARENTS and parent not in PARENTS[kind]:
            yield f"7.2: {kind} in {parent}"
        for child in _children(element):
            if kind in CHILDREN and child not in CHILDREN[kind]:
                yield f"7.2: {child} in {kind}"
        if kind == "Figure" and not str(element.get("/Alt", "")).strip():
            yield "7.3: a figure without an alternative text"
        if kind == "Note" and not element.get("/ID"):
            yield "7.9: a note without an identifier"


def _headings(document: PdfReader, root: Any) -> Iterator[str]:
    kinds = [_type(element) for element, _ in elements(document)]
    levels = [int(kind[1]) for kind in kinds if kind[0] == "H" and kind[1:].isdecimal()]
    if not levels or levels[0] != 1:
        yield "7.4.2: the first heading is not of the first level"
    for above, below in pairwise(levels):
        if below > above + 1:
            yield f"7.4.2: a heading of level {below} after one of level {above}"
    if "H" in kinds:
        yield "7.4.4: headings with and without a level"


def _tables(document: PdfReader, root: Any) -> Iterator[str]:
    known = {str(element["/ID"]) for element, _ in elements(document) if "/ID" in element}
    for element, _ in elements(document):
        given = _plain(element.get("/A", {}))
        if _type(element) == "TH" and given.get("/Scope") not in ("/Row", "/Column", "/Both"):
            yield "7.5: a header cell that does not say what it heads"
        for name in given.get("/Headers", []) if _type(element) == "TD" else []:
            if str(name) not in known:
                yield f"7.5: a cell names the header {name}, which is not there"
    if known and "/IDTree" not in root["/StructTreeRoot"]:
        yield "7.5: header cells have identifiers, and no list of them (ISO 32000-1, 14.7.2)"


def _pages(document: PdfReader, root: Any) -> Iterator[str]:
    """All that is painted is a part of the structure, or told to be none."""
    for number, page in enumerate(document.pages, start=1):
        if "/StructParents" not in page:
            yield f"7.1: page {number} has no place in the structure"
        within: list[bool] = []
        for operands, operator in ContentStream(
            page["/Contents"].get_object(), document
        ).operations:
            if operator in (b"BDC", b"BMC"):
                given = operands[1] if operator == b"BDC" else {}
                within.append("/MCID" in given or operands[0] == "/Artifact")
            elif operator == b"EMC":
                within.pop()
            elif operator in PAINTS and not any(within):
                yield f"7.1: page {number} paints ({operator.decode()}) what has no tag"
                break


def _annotations(document: PdfReader, root: Any) -> Iterator[str]:
    linked = {
        _plain(child).raw_get("/Obj").idnum
        for element, _ in elements(document)
        if _type(element) == "Link"
        for child in _kids(element)
        if isinstance(_plain(child), dict) and _plain(child).get("/Type") == "/OBJR"
    }
    for number, page in enumerate(document.pages, start=1):
        links = list(_plain(page.get("/Annots", [])))
        if links and page.get("/Tabs") != "/S":
            yield f"7.18.3: the order of tabs on page {number} is not that of the structure"
        for one in links:
            if not _plain(one).get("/Contents"):
                yield f"7.18.5: a link on page {number} without words of its own"
            if one.idnum not in linked:
                yield f"7.18.5: a link on page {number} that is not tagged as one"


def _fonts(document: PdfReader, root: Any) -> Iterator[str]:
    for page in document.pages:
        for font in map(_plain, _plain(page.get("/Resources", {}).get("/Font", {})).values()):
            name = font.get("/BaseFont", "a font")
            below = [_plain(one) for one in _plain(font.get("/DescendantFonts", []))]
            descriptors = [_plain(one["/FontDescriptor"]) for one in below or [font]]
            if not all({"/FontFile", "/FontFile2", "/FontFile3"} & set(one) for one in descriptors):
                yield f"7.21.4.1: {name} is not embedded"
            if "/ToUnicode" not in font:
                yield f"7.21.7: {name} does not say which letters its shapes are"


def _files(document: PdfReader, root: Any) -> Iterator[str]:
    tree = _plain(_plain(root.get("/Names", {})).get("/EmbeddedFiles", {}))
    for one in _plain(tree.get("/Names", []))[1::2]:
        specification = _plain(one)
        if not (specification.get("/F") and specification.get("/UF")):
            yield "7.11: an attached file without a name"


def _plain(node: Any) -> Any:
    return node.get_object() if isinstance(node, IndirectObject) else node


def _type(element: Any) -> str:
    return str(element["/S"]).lstrip("/")


def _kids(element: Any) -> list[Any]:
    kids = _plain(element.get("/K", []))
    return list(kids) if isinstance(kids, list) else [kids]


def _children(element: Any) -> list[str]:
    """The types of the elements right below."""
    kids = [_plain(one) for one in _kids(element)]
    return [_type(one) for one in kids if isinstance(one, dict) and "/S" in one]
