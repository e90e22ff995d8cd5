"""The first sheet of the small museum on loan, and a check of it on a phone with two points.

Run as a program it lends the sheet in the database of FIELDLEAF_DATA.
"""

import base64
import os
import subprocess
import sys
from datetime import UTC, date, datetime
from typing import Any

from playwright.sync_api import Page

from tests.browser import field_work, on_sheet, small_museum
from tests.browser.server import ROOT, Server

LOAN = str(small_museum.key("loan", 0))
COURIER, RECEIVER = "Kit Aldous", "Bo Lind"
BORROWER = "Gallery of the Salt Quay"

# The earlier state, photographed and signed, and a check against it. The tear is changed and the
# foxing the same, but where ``open`` says that nothing was said of it; a new crease was found.
CHECKED = """
async ({ object, loan, shots, open }) => {
  const { create, save, addPhotograph } = await import("/field/store/write.js");
  const { db } = await import("/field/store/database.js");
  const size = { sheet_width_mm: 120, sheet_height_mm: 90 };
  const file = (content) =>
    new File([Uint8Array.from(atob(content), (one) => one.charCodeAt(0))], "shot.jpg", {
      type: "image/jpeg",
    });
  const outline = (...points) => ({ kind: "polygon", points });
  const tear = outline([81, 54], [88, 54], [88, 90], [80, 90]);
  const photograph = async (examination) => {
    const ids = {};
    for (const { content, homography, points, mm_per_px, ...shot } of shots) {
      const { id } = await addPhotograph({ examination, file: file(content), ...shot });
      ids[`${shot.light} ${shot.side}`] = id;
      if (shot.light === "raking") continue;
      const placing = { kind: "corners", points, size_mm: [120, 90], mm_per_px };
      await save("photograph", id, { homography, placing: { ...placing, uncertainty_mm: 0.5 } });
    }
    return ids;
  };
  const usual = { extent: "spot", severity: "slight", lights: ["normal"] };
  const see = (examination, fields) => create("observation", { examination, ...usual, ...fields });

  const bench = await create("visit", { purpose: "bench", name: "Before the loan" });
  const before = await create("examination", { visit: bench, object, ...size });
  await photograph(before);
  const known = [
    await see(before, { term: "tear", region: tear }),
    await see(before, { term: "foxing", extent: "several" }),
  ];
  const signed_at = new Date().toISOString();
  await save("examination", before, { signed_name: "Iona Saltmarsh", signed_at });

  const place = "Gallery of the Salt Quay";
  const visit = await create("visit", { purpose: "loan-check", name: "Arrival", place });
  const examination = await create("examination", { visit, object, ...size });
  const check = await create("loan_check", {
    loan, examination, earlier: before, stage: "arrival", venue: place, crate: "Crate 2",
    seals: "40117 and 40118", seals_whole: "yes", hours_acclimatised: 20,
    logger: "No. 7, 47 to 52 % on the way", temperature_c: 20.5, humidity_percent: 51,
    glazing: "whole", note: "Opened in the crate room.",
  });
  const shot = await photograph(examination);
  const now = [
    await see(examination, {
      term: "tear", severity: "moderate", region: tear, note: "Reaches the plate mark.",
    }),
    await see(examination, { term: "foxing", extent: "several" }),
  ];
  await see(examination, {
    term: "handling-crease", extent: "edge", lights: ["raking"],
    mark: { photograph: shot["raking recto"], x: 0.3, y: 0.4 },
  });
  await create("measurement", {
    examination, observation: now[0], what: "Tear", value: 38.5, uncertainty: 0.6,
  });
  const points = [];
  for (const [at, observation] of known.entries()) {
    if (open && at === 1) continue;
    const answer = at
      ? { answer: "same" }
      : { answer: "changed", reason: "Longer by about 6 mm.", photograph: shot["normal recto"] };
    const point = { loan_check: check, observation, now: now[at], ...answer };
    points.push(await create("point_check", point));
  }
  return { check, examination, before, known, points };
}
"""


def lend(server: Server) -> None:
    """Put the first sheet on loan at the server."""
    subprocess.run(
        [sys.executable, __file__],
        cwd=ROOT,
        env={**server.environment, "PYTHONPATH": str(ROOT)},
        check=True,
    )


def check(page: Page, *, is_open: bool = False) -> dict[str, Any]:
    """An arrival check on the tablet, ready to be signed unless ``is_open``; its keys."""
    shots = [_shot(name, shot) for name, shot in on_sheet.shots().items()]
    made: dict[str, Any] = page.evaluate(
        CHECKED, {"object": field_work.OBJECT, "loan": LOAN, "shots": shots, "open": is_open}
    )
    return made


def _shot(name: str, shot: on_sheet.Shot) -> dict[str, Any]:
    light, side = name.split()
    corners = [shot.pixel(*place) for place in on_sheet.CORNERS_MM]
    return {
        "light": light,
        "side": side,
        "azimuth_deg": 15 if light == "raking" else None,
        "content": base64.b64encode(shot.content).decode(),
        "homography": shot.homography.flatten().tolist(),
        "points": [list(map(float, corner)) for corner in corners],
        "mm_per_px": 0.125,
    }


def _lend() -> None:
    from survey.loans.models import Loan, LoanedObject
    from survey.sync.services import log_many

    loan = Loan(
        id=LOAN,
        reference="L.2026.3",
        title="Ink and water",
        lender="Port Ellery Museum of Works on Paper",
        borrower=BORROWER,
        first_day=date(2026, 1, 5),
        last_day=datetime.now(UTC).date().replace(month=12, day=31),
        couriers=[COURIER],
        coolest_c=18,
        warmest_c=22,
        driest_percent=45,
        dampest_percent=55,
        hours_to_acclimatise=24,
    )
    loan.save()
    loaned = LoanedObject(
        loan=loan, object_id=field_work.OBJECT, crate="Crate 2", glazing="Acrylic"
    )
    loaned.save()
    log_many("loan", [loan], None)
    log_many("loaned_object", [loaned], None)


if __name__ == "__main__":
    sys.path.insert(0, os.getcwd())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "survey.settings")
    import django

    django.setup()
    _lend()
