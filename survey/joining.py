"""Joins the tablet app's modules and style sheets, so that it opens with a handful of requests.

A slow tablet spends some 7 ms on every file it asks for, even from its own cache; the form
stands on seventy. They are written as plain ES modules and stay so: what is joined is worked
out as it is served, and a module asked for by its own address hands on the joined one, so that
there is never a second copy of its state.

This is no bundler for other people's code. It knows the few forms that the app's own modules
use, each at the start of a line, and test_joining.py holds the app to them.
"""

import posixpath
import re
from collections.abc import Mapping

IMPORT = re.compile(
    r'^import (?:(?P<default>\w+)|\* as (?P<all>\w+)|\{(?P<names>[^}]*)\}) from "(?P<of>\.[^"]+)";',
    re.MULTILINE,
)
IMPORT_FOR_EFFECT = re.compile(r'^import "(?P<of>\.[^"]+)";', re.MULTILINE)
EXPORT = re.compile(r"^export (?=(?:async function|function|class|const) (\w+))", re.MULTILINE)
EXPORT_FROM = re.compile(r'^export \{(?P<names>[^}]*)\} from "(?P<of>\.[^"]+)";', re.MULTILINE)
IMPORT_LATER = re.compile(r'\bimport\("(\.[^"]+)"\)')
RENAMED = re.compile(r"(\w+) as (\w+)")

JOINED = "joined.js"


def imported_by(name: str, text: str) -> list[str]:
    """The modules a module needs before it can run, as paths below the app's folder."""
    found = []
    for form in (IMPORT, IMPORT_FOR_EFFECT, EXPORT_FROM):
        found += [_beside(name, match["of"]) for match in form.finditer(text)]
    return list(dict.fromkeys(found))


def in_order(entries: list[str], texts: Mapping[str, str]) -> list[str]:
    """The entries and all they import, each after what it imports.

    Raises ValueError when modules import each other in a ring.
    """
    order: list[str] = []
    open_: list[str] = []

    def visit(name: str) -> None:
        if name in order:
            return
        if name in open_:
            raise ValueError(f"These modules import each other: {' → '.join([*open_, name])}")
        open_.append(name)
        for other in imported_by(name, texts[name]):
            visit(other)
        open_.pop()
        order.append(name)

    for entry in entries:
        visit(entry)
    return order


def joined(order: list[str], texts: Mapping[str, str], prefix: str) -> str:
    """One module that runs the given ones in order; vendored ones stay files of their own."""
    parts = []
    heads = []
    for number, name in enumerate(order):
        if is_vendored(name):
            heads.append(f'import * as vendored{number} from "{prefix}{name}";')
            parts.append(f'modules["{name}"] = vendored{number};')
        else:
            exports = ", ".join(exported_by(texts[name]))
            parts.append(
                f'modules["{name}"] = (() => {{\n{_body(name, texts[name], prefix, order)}\n'
                f"return {{ {exports} }};\n}})();"
            )
    return "\n".join([*heads, "export const modules = {};", *parts, ""])


def handed_on(name: str, text: str, prefix: str) -> str:
    """What a joined module's own address answers: the exports of the one that runs."""
    exports = ", ".join(exported_by(text))
    taken = f'export const {{ {exports} }} = modules["{name}"];\n' if exports else ""
    return f'import {{ modules }} from "{prefix}{JOINED}";\n{taken}'


def exported_by(text: str) -> list[str]:
    """The names a module exports, as they come."""
    again = [name for match in EXPORT_FROM.finditer(text) for name in _names(match["names"])]
    return EXPORT.findall(text) + again


def is_vendored(name: str) -> bool:
    """Whether a module is somebody else's, made whole by the vendoring script."""
    return name.startswith("vendor/")


def _body(name: str, text: str, prefix: str, order: list[str]) -> str:
    """The module as the inside of a function: imports read, exports plain."""

    def read(match: re.Match[str]) -> str:
        source = f'modules["{_beside(name, match["of"])}"]'
        groups = match.groupdict()
        if groups.get("all"):
            return f"const {groups['all']} = {source};"
        if groups.get("default"):
            return f"const {{ default: {groups['default']} }} = {source};"
        taken = RENAMED.sub(r"\1: \2", ", ".join(_names(match["names"])))
        return f"const {{ {taken} }} = {source};"

    def later(match: re.Match[str]) -> str:
        wanted = _beside(name, match[1])
        if wanted in order:
            return f'Promise.resolve(modules["{wanted}"])'
        return f'import("{prefix}{wanted}")'

    text = IMPORT.sub(read, text)
    text = EXPORT_FROM.sub(read, text)
    text = IMPORT_FOR_EFFECT.sub("", text)
    text = EXPORT.sub("", text)
    return IMPORT_LATER.sub(later, text)


def _names(inside: str) -> list[str]:
    return [part.strip() for part in inside.split(",") if part.strip()]


def _beside(name: str, address: str) -> str:
    return posixpath.normpath(posixpath.join(posixpath.dirname(name), address))
