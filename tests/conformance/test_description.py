"""The interface's own description, as OpenAPI 3."""

from pathlib import Path

from django.core.management import call_command


def test_the_description_is_valid_and_leaves_nothing_out(tmp_path: Path) -> None:
    written = tmp_path / "interface.yaml"
    call_command("spectacular", validate=True, fail_on_warn=True, file=str(written))
    text = written.read_text()
    for address in ("sign-in", "sync/push", "sync/pull", "sync/stored", "uploads/{key}"):
        assert f"/api/{address}:" in text
