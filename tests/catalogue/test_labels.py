"""QR labels: that the tablet's own reader gets the accession number back from one."""

import re
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from survey.catalogue.labels import qr_label

READER = Path(__file__).resolve().parents[2] / "frontend/vendor/qr.js"
READ = f"""
import read from "{READER.as_uri()}";
const chunks = [];
for await (const chunk of process.stdin) chunks.push(chunk);
const pixels = new Uint8ClampedArray(Buffer.concat(chunks));
const side = Math.sqrt(pixels.length / 4);
process.stdout.write(read(pixels, side, side)?.data ?? "nothing");
"""
PIXELS_A_MODULE = 4


def drawn(label: str) -> np.ndarray:
    """The label as RGBA pixels: the strokes of its one path, each a row of dark modules."""
    (path,) = re.findall(r'class="qrline"[^>]* d="([^"]+)"', label)
    side = round(float(re.findall(r'viewBox="0 0 ([\d.]+) ', label)[0]) / 0.5)
    modules = np.full((side, side), 255, dtype=np.uint8)
    x = y = 0.0
    for command, first, second in re.findall(r"([Mmh])(-?[\d.]+)(?: (-?[\d.]+))?", path):
        if command == "M":
            x, y = float(first), float(second)
        elif command == "m":
            x, y = x + float(first), y + float(second)
        else:
            modules[int(y), int(x) : int(x) + int(first)] = 0
            x += float(first)
    grey = modules.repeat(PIXELS_A_MODULE, axis=0).repeat(PIXELS_A_MODULE, axis=1)
    return np.stack([grey, grey, grey, np.full_like(grey, 255)], axis=-1)


@pytest.mark.parametrize("number", ["PE.1987.12", "PE.1987.12 a–c", "É & <1>"])
def test_the_tablets_reader_reads_a_label(number: str) -> None:
    node = shutil.which("node", path=Path(sys.executable).parent) or "node"
    said = subprocess.run(
        [node, "--input-type=module", "--eval", READ],
        input=drawn(qr_label(number)).tobytes(),
        capture_output=True,
        check=True,
        timeout=60,
    )
    assert said.stdout.decode() == number


def test_a_label_has_its_number_as_a_title_for_whoever_cannot_see_it() -> None:
    title = ElementTree.fromstring(qr_label("É & <1>"))[0]
    assert (title.tag, title.text) == ("{http://www.w3.org/2000/svg}title", "É & <1>")


def test_a_label_says_its_size_in_millimetres() -> None:
    # Version 1 has 21 modules, and 4 of quiet zone on either side (ISO/IEC 18004).
    assert 'width="14.5mm" height="14.5mm"' in qr_label("PE.1")
