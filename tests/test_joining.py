"""The app's modules, joined: each runs once, after what it needs, and whole."""

import re
from pathlib import Path

import pytest
from django.conf import settings

from survey import joining
from survey.frontend import OPENED_FIRST, app_files

ROOT = Path(settings.FRONTEND_DIR)
MODULES = {
    "app.js": 'import "./store/start.js";\nimport { a, b as c } from "./store/a.js";\n'
    'const later = () => import("./screens/far.js");\nconst near = () => import("./store/a.js");\n',
    "store/start.js": 'import * as all from "./a.js";\nall.a();\n',
    "store/a.js": 'import Tool from "../vendor/tool.js";\nexport function a() {}\n'
    'export const b = Tool;\nexport { kept } from "./b.js";\n',
    "store/b.js": "export class kept {}\n",
    "vendor/tool.js": "export{x as default};",
}


def test_it_puts_each_module_after_what_it_imports() -> None:
    order = joining.in_order(["app.js"], MODULES)
    assert order == ["vendor/tool.js", "store/b.js", "store/a.js", "store/start.js", "app.js"]


def test_it_says_which_modules_import_each_other() -> None:
    ring = {"a.js": 'import { b } from "./b.js";', "b.js": 'import { a } from "./a.js";'}
    with pytest.raises(ValueError, match=r"a\.js → b\.js → a\.js"):
        joining.in_order(["a.js"], ring)


def test_it_turns_imports_into_reads_and_keeps_far_ones_for_later() -> None:
    text = joining.joined(joining.in_order(["app.js"], MODULES), MODULES, "/field/")
    assert 'import * as vendored0 from "/field/vendor/tool.js";' in text
    assert 'const { a, b: c } = modules["store/a.js"];' in text
    assert 'const all = modules["store/a.js"];' in text
    assert 'const { default: Tool } = modules["vendor/tool.js"];' in text
    assert "return { a, b, kept };" in text
    assert 'import("/field/screens/far.js")' in text
    assert 'Promise.resolve(modules["store/a.js"])' in text


def test_a_module_s_own_address_hands_on_the_one_that_runs() -> None:
    assert joining.handed_on("store/a.js", MODULES["store/a.js"], "/field/") == (
        'import { modules } from "/field/joined.js";\n'
        'export const { a, b, kept } = modules["store/a.js"];\n'
    )


def test_what_shows_photographs_on_the_sheet_is_loaded_only_when_it_is_opened() -> None:
    texts = {path.relative_to(ROOT).as_posix(): path.read_text() for path in app_files(ROOT)
             if path.suffix == ".js"}  # fmt: skip
    first = set(joining.in_order(OPENED_FIRST, texts))
    late = ("components/sheet-view/", "components/examine/on-sheet/", "imaging/")
    assert [name for name in first if name.startswith(late)] == []
    # A page that mounts the sheet view must not start the app: nothing of it is joined.
    mounted = joining.in_order(["components/sheet-view/mount.js"], texts)
    assert first.intersection(mounted) == {"vendor/ui.js"}


def test_the_app_s_modules_use_only_the_forms_that_can_be_joined() -> None:
    texts = {path.relative_to(ROOT).as_posix(): path.read_text() for path in app_files(ROOT)
             if path.suffix == ".js"}  # fmt: skip
    own = [name for name in joining.in_order(OPENED_FIRST, texts) if "vendor/" not in name]
    assert len(own) > 40
    for name in own:
        text = joining._body(name, texts[name], "/field/", own)
        left = re.findall(r"^(?:import|export)\b(?!\().*", text, re.MULTILINE)
        assert left == [], name
        # What is handed out must not be set anew: a copy would not follow.
        assert not re.search(r"^export (?:let|var|default|async function\*)", texts[name], re.M)
        assert " as " not in ", ".join(joining.exported_by(texts[name])), name
