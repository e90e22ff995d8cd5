"""The colour target that lies beside the sheet under normal light."""

import numpy as np

from survey.demo.sheet.camera import CARD_GAP_MM, CARD_MM, Frame
from survey.demo.sheet.noise import Field
from survey.imaging.chart import FOLDER, light_of, load_chart

SIZE_MM = (34.0, 13.0)
# Its ground, linear reflectance.
GROUND = 0.04


def target_card(frame: Frame) -> tuple[Field, tuple[slice, slice]] | None:
    """Linear reflectance (rows, columns, 3) and its place in the frame, right of the scale.

    None where the frame has no room for it.
    """
    ppm = frame.px_per_mm
    left = round(frame.origin_px + (frame.scale_start_mm[0] + CARD_MM[0] + 1.0) * ppm)
    top = round(frame.top_px + (frame.sheet_mm[1] + CARD_GAP_MM) * ppm)
    columns, rows = (round(side * ppm) for side in SIZE_MM)
    if left + columns > frame.columns or top + rows > frame.rows:
        return None
    chart = load_chart(FOLDER / "port-ellery.json")
    card = np.full((rows, columns, 3), GROUND, dtype=np.float32)
    for patch, light in zip(chart.patches, light_of(chart.lab, chart.illuminant), strict=True):
        x0, y0, x1, y1 = (
            round(share * side) for share, side in zip(patch.box, 2 * (columns, rows), strict=True)
        )
        card[y0:y1, x0:x1] = light
    return card, (slice(top, top + rows), slice(left, left + columns))
