"""Every screen of the tablet: readable to all, within the screen, and large enough for a glove."""

from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser import reading, tablet
from tests.browser.conftest import PHONE, TABLET, Opener
from tests.browser.server import Server
from tests.browser.waiting import wait_for

# One open visit with a signed and an unsigned examination, and a photograph.
WORK = """
async () => {
  const { create, save, addPhotograph } = await import("/field/store/write.js");
  const { db } = await import("/field/store/database.js");
  const at = new Date().toISOString();
  const [first, second] = await db.objects.limit(2).toArray();
  const visit = await create("visit", { purpose: "bench", name: "Bench", started_at: at });
  const examine = (object) =>
    create("examination", { visit, object: object.id, started_at: at, location: object.location });
  const [signed, open] = [await examine(first), await examine(second)];
  const canvas = new OffscreenCanvas(300, 200);
  canvas.getContext("2d");
  const file = await canvas.convertToBlob({ type: "image/jpeg" });
  for (const examination of [signed, open]) {
    await create("observation", { examination, term: "tear", severity: "slight" });
    await addPhotograph({ examination, light: "raking", azimuth_deg: 290, side: "recto", file });
    await create("watermark", { examination, motif: "Crown", width_mm: 24, match: "variant" });
    await save("examination", examination, { lamp_s: 725 });
  }
  // Placed on its sheet, and seen under a second light that is not.
  await save("examination", open, { sheet_width_mm: 300, sheet_height_mm: 200 });
  const placed = await db.photographs.where({ examination: open }).first();
  await save("photograph", placed.id, {
    homography: [1, 0, 0, 0, 1, 0, 0, 0, 1],
    placing: {
      kind: "corners", points: [[0, 0], [300, 0], [300, 200], [0, 200]], size_mm: [300, 200],
      mm_per_px: 1, uncertainty_mm: 0.6,
    },
  });
  canvas.getContext("2d").fillRect(0, 0, 150, 200);
  const other = await canvas.convertToBlob({ type: "image/jpeg" });
  await addPhotograph({ examination: open, light: "normal", side: "recto", file: other });
  await save("examination", signed, { grade: "fair", signed_at: at, signed_name: "Mira" });
  await create("amendment", {
    examination: signed, field: "grade", before: "fair", after: "poor", reason: "Seen again.",
    signed_at: at, signed_name: "Mira",
  });
  const seen = await db.observations.where("examination").equals(open).first();
  const outline = (lowest) => ({
    kind: "polygon", points: [[10, 20], [50, 20], [50, lowest], [10, 45]],
  });
  const asked = [
    ["examination", open, "grade", "fair", "poor"],
    ["examination", open, "sheet_width_mm", 310, 312.5],
    ["observation", seen.id, "region", outline(45), outline(60)],
    ["observation", seen.id, "lights", ["raking"], ["raking", "ultraviolet"]],
    ["examination", signed, "notes", "Cockled along the foot.", "Flat, but for the foot."],
    ["observation", seen.id, "deleted", false, true],
  ];
  const say = (value, person) => ({ value, person, at: "1768122000000-0000-d" });
  for (const [entity, entity_id, field, shown, kept] of asked) {
    await db.questions.put({
      id: crypto.randomUUID(), entity, entity_id, field, settled: false,
      shown: say(shown, "Mira Holt"), kept: say(kept, "Ansel Quill"),
    });
  }
  const { visit: walk } = await db.stops.toCollection().first();
  return { visit, walk, signed, open, object: first.id };
}
"""

# What the browser cleared from this tablet some time ago.
CLEARED = """
localStorage.setItem("fieldleaf-cleared", JSON.stringify([{
  found_at: "2026-01-12T09:30:00Z",
  sent: { changes: 214, photographs: 37, last: "2026-01-11T16:05:00Z" },
  unsent: [
    { kind: "change", id: "1", object: "PE.1999.12", what: "Observation: tear",
      when: 1768122000000, person: "Mira", arrived: false },
    { kind: "photograph", id: "2", object: "PE.1999.12", what: "Raking light, 315°, recto",
      when: 1768122000000, size_bytes: 4800000, arrived: false },
  ],
  counts: { changes: 1, photographs: 1 },
}]))
"""

IS_SHOWN = """
async (route) => {
  const { shown } = await import("/field/router.js");
  return `#${shown.value?.route}` === route;
}
"""

TOO_SMALL = """
() => [...document.querySelectorAll("a, button, input, textarea, select, summary")]
  .filter((element) => {
    const { width, height } = element.getBoundingClientRect();
    const isInText = element.matches("p a, li:not(:has(> :only-child)) > a");
    return width && height && !isInText && (width < 47.5 || height < 47.5);
  })
  .map((element) => element.outerHTML.slice(0, 120))
"""


def faults(page: Page) -> list[str]:
    """Those of any page, and what is too small for a glove."""
    return [f"too small: {element}" for element in page.evaluate(TOO_SMALL)] + reading.faults(page)


def open_third_values(page: Page) -> None:
    """Open what an open question offers beside its two values."""
    page.evaluate("document.querySelectorAll('.other-value').forEach((one) => (one.open = true))")


def stages(page: Page) -> dict[str, list[str]]:
    """The faults of what lies over the form: photographs on their sheet, one after another."""
    found = {}

    def look(name: str, shown: str) -> None:
        page.locator(shown).first.wait_for()
        found[name] = faults(page)

    def tap(name: str) -> None:
        page.get_by_role("dialog").get_by_role("button", name=name, exact=True).click()

    tablet.field(page, "compare").click()
    look("compare", ".sv-layer > canvas")
    for mode in ("Side by side", "Divider", "Blend", "In turn"):
        tap(mode)
        look(mode, ".sv-layer > canvas")
    tap("Close")
    page.get_by_role("list", name="Photographs, raking light").get_by_role("button").click()
    look("a placed photograph", ".sv-layer > canvas")
    tap("Move the sheet’s corners")
    look("corners", ".set-point")
    tap("Change the size")
    look("corners and size", ".number-fields")
    tap("Leave as it was")
    tap("Measure on it")
    look("measure", ".sv-layer > canvas")
    tap("Done measuring")
    tap("Close")
    page.get_by_role("list", name="Photographs, normal light").get_by_role("button").click()
    tap("Use the scale")
    look("scale", ".sv-layer > canvas")
    tap("Leave as it was")
    tap("Close")
    page.locator(".seen-row").first.click()
    page.locator(".observation-editor .shot").first.click()
    look("marking", ".stage-sheet img")
    tap("Draw its outline")
    look("outline", ".sv-layer > canvas")
    tap("Leave as it was")
    tap("Done")
    return found


def screens(work: dict[str, Any]) -> dict[str, str]:
    """The h1 of each screen by its address."""
    return {
        "#/visits": "My visits",
        f"#/visit/{work['visit']}": "Visit",
        f"#/visit/{work['walk']}": "Visit",
        "#/start": "Start a visit",
        f"#/find?visit={work['visit']}": "Find an object",
        f"#/find?visit={work['visit']}&object={work['object']}": "Object",
        f"#/examine/{work['open']}": "Examine",
        f"#/examination/{work['signed']}": "Examination",
        "#/guide?part=lights": "Guide",
        "#/guide?part=terms": "Guide",
        "#/guide?part=cautions": "Guide",
        "#/guide?part=grades": "Guide",
        "#/sync": "Sync",
        "#/unsent": "Unsent work",
        "#/cleared": "Cleared by the browser",
        "#/settings": "Settings",
        "#/loans": "Loans",
    }


@pytest.mark.parametrize(("look", "size"), [("light", TABLET), ("dim", PHONE)])
def test_every_screen_is_readable_and_large_enough(
    server: Server, open_browser: Opener, look: str, size: dict[str, int]
) -> None:
    browser = open_browser(viewport=size)
    browser.add_init_script(f"localStorage.setItem('fieldleaf-look', '{look}')")
    # So that the photograph still waits when its place on the Sync screen is looked at.
    browser.add_init_script("localStorage.setItem('fieldleaf-send-photographs', 'asked')")
    page = tablet.open_app(browser, server)
    page.get_by_role("heading", name="Fieldleaf").wait_for()
    found = {"#/sign-in": faults(page)}
    tablet.sign_in(page, *tablet.CONSERVATOR)
    tablet.wait_until_carried(page, 2000)
    work = page.evaluate(WORK)
    page.evaluate(CLEARED)

    for route, heading in screens(work).items():
        page.evaluate("(route) => { location.hash = route; }", route)
        # The former screen stays until the new one is loaded, and may have the same heading.
        wait_for(lambda route=route: page.evaluate(IS_SHOWN, route), page)
        page.locator("h1", has_text=heading).wait_for()
        # Not before it has read the database.
        page.locator("main :is(h2, fieldset, .field)").first.wait_for()
        if route.startswith("#/exam"):
            page.locator(".question").first.wait_for()
        open_third_values(page)
        found[route] = faults(page)
        if route.startswith("#/examine/"):
            found |= stages(page)

    assert {route: said for route, said in found.items() if said} == {}


def test_every_light_term_and_caution_can_be_read_in_the_guide(
    server: Server, open_browser: Opener
) -> None:
    page = tablet.open_app(open_browser(), server)
    tablet.sign_in(page, *tablet.CONSERVATOR)
    tablet.wait_until_carried(page, 2000)
    words = page.evaluate(
        "async () => (await import('/field/store/vocabulary.js')).vocabulary.value"
    )
    assert len(words["lights"]) == 5
    assert len(words["terms"]) >= 70

    for part, entries in (("lights", "lights"), ("terms", "terms"), ("cautions", "cautions")):
        page.evaluate("(part) => { location.hash = `#/guide?part=${part}`; }", part)
        page.locator(f'a[aria-current="page"][href="#/guide?part={part}"]').wait_for()
        shown = " ".join(page.locator("main").inner_text().split()).lower()
        for entry in words[entries]:
            text = entry.get("definition") or entry.get("purpose") or entry["text"][0]
            assert " ".join(text.split()).lower() in shown, entry["name"]
