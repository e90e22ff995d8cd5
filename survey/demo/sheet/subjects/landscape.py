"""Hills, trees, a farm building and a path, as in a sketching book."""

import itertools
import math

import numpy as np

from survey.demo.sheet.geometry import Point, blob
from survey.demo.sheet.noise import wander
from survey.demo.sheet.pen import Page


def landscape(page: Page) -> None:
    h = page.aspect
    horizon = h * page.random.uniform(0.42, 0.52)
    sky(page, horizon)
    for depth, lift in enumerate((0.16, 0.10, 0.04)):
        ridge(page, horizon, lift * h, depth)
    ground = horizon + 0.05 * h
    meadow(page, ground)
    hedgerow(page, ground)
    house_at = page.random.uniform(0.34, 0.62)
    if page.random.random() < 0.5:
        church(page, house_at + page.random.choice([-0.17, 0.19]), ground + 0.055 * h, 0.10)
    house(page, house_at + 0.11, ground + 0.075 * h, 0.085)
    house(page, house_at, ground + 0.10 * h, 0.13)
    fence(page, house_at - 0.10, ground + 0.13 * h)
    for u, v, size in ((house_at - 0.13, 0.09, 0.16), (house_at + 0.21, 0.08, 0.13)):
        tree(page, u, ground + v * h, size)
    near = page.random.choice([0.13, 0.87])
    tree(page, near, ground + 0.34 * h, 0.40 * min(1.0, h / 0.7))
    path(page, house_at, ground + 0.10 * h)
    grasses(page, ground)
    ruled_border(page)


def ruled_border(page: Page) -> None:
    page.trim()
    h = page.aspect
    for start, end in (((0, 0), (1, 0)), ((1, 0), (1, h)), ((1, h), (0, h)), ((0, h), (0, 0))):
        page.ruled(start, end, 0.9, 0.8)


def sky(page: Page, horizon: float) -> None:
    page.tint([(0, 0), (1, 0), (1, horizon), (0, horizon)], "sky", 0.28)
    if page.medium.shading == "hatch":
        for v in np.arange(0.02, horizon * 0.5, 0.013):
            for start in page.random.uniform(0, 0.75, 2):
                reach = start + page.random.uniform(0.08, 0.25)
                page.line([(start, v), (reach, v + page.random.normal(0, 0.002))], 0.7, 0.4, 0.3)
    for _ in range(3):
        u, v = page.random.uniform(0.12, 0.8), page.random.uniform(0.12, 0.6) * horizon
        cloud_bank(page, u, v, page.random.uniform(0.06, 0.12))


def cloud_bank(page: Page, u: float, v: float, size: float) -> None:
    """Heaped cloud: left white by a brush, drawn by its upper edge with a pen."""
    if page.medium.shading == "wash":
        for _ in range(6):
            middle = (
                u + page.random.normal(0, 0.5) * size,
                v - abs(page.random.normal(0, 0.16)) * size,
            )
            page.lift(
                blob(page.random, middle, size * page.random.uniform(0.25, 0.5), 0.2), 0.6, 2.0
            )
        return
    bumps = int(page.random.integers(4, 7))
    edges = np.cumsum(page.random.uniform(0.6, 1.4, bumps))
    edges = np.concatenate([[0], edges / edges[-1]]) * 2 * size + u - size
    for start, end in itertools.pairwise(edges):
        middle, half = (start + end) / 2, (end - start) / 2
        swell = 0.5 + 1.1 * math.exp(-(((middle - u) / (0.6 * size)) ** 2))
        turn = np.linspace(math.pi * 1.02, math.pi * 1.95, 12)
        arc = [
            (
                middle + 1.05 * half * math.cos(t),
                v
                - 0.25 * size * math.exp(-(((middle - u) / size) ** 2))
                + swell * half * math.sin(t),
            )
            for t in turn
        ]
        page.line(arc, 0.8, 0.55, 0.4)
    belly = [
        (u - 0.8 * size, v),
        (u + 0.85 * size, v),
        (u + 0.5 * size, v + 0.10 * size),
        (u - 0.6 * size, v + 0.10 * size),
    ]
    page.shade(belly, 0.15, 3, "grey")


def ridge(page: Page, horizon: float, lift: float, depth: int) -> None:
    u = np.linspace(0, 1, 70)
    top = horizon - lift * (0.75 + 0.45 * wander(page.random, 70, 22 - 4 * depth))
    outline = [*zip(u, top, strict=True), (1, horizon + 0.08), (0, horizon + 0.08)]
    page.hide(outline)
    page.tint(outline, ("sky", "green", "olive")[depth], 0.22 + 0.08 * depth)
    page.line(np.column_stack([u, top]), 0.9, 0.5 + 0.16 * depth, 0.8)
    start = int(page.random.integers(0, 20))
    while start < 60:
        end = min(69, start + int(page.random.integers(6, 14)))
        slope = [*zip(u[start:end], top[start:end], strict=True)]
        foot = [(x + 0.03, y + lift * page.random.uniform(0.35, 0.6)) for x, y in reversed(slope)]
        page.shade([*slope, *foot], 0.14 + 0.06 * depth, 62, "grey")
        start = end + int(page.random.integers(3, 10))


def meadow(page: Page, ground: float) -> None:
    h = page.aspect
    field = [(0, ground), (1, ground - 0.015), (1, h), (0, h)]
    page.hide(field)
    page.tint(field, "olive", 0.26)
    for v in np.linspace(ground + 0.02, h * 0.95, 8):
        start = page.random.uniform(0, 0.6)
        u = np.linspace(start, start + page.random.uniform(0.15, 0.4), 12)
        page.line(np.column_stack([u, v + 0.008 * wander(page.random, 12, 6)]), 0.8, 0.45)


def hedgerow(page: Page, ground: float) -> None:
    """Low bushes strung along the far side of the meadow."""
    u = page.random.uniform(0.0, 0.04)
    while u < 1:
        radius = page.random.uniform(0.010, 0.024)
        if page.random.random() < 0.7:
            foliage(page, (u, ground + 0.004 - 0.3 * radius), radius)
        u += radius * page.random.uniform(1.3, 2.6)


def church(page: Page, u: float, v: float, size: float) -> None:
    """A square tower with a short spire, and a nave beside it."""
    nave = [(u, v), (u + size, v), (u + size, v - 0.3 * size), (u, v - 0.3 * size)]
    roof = [nave[3], nave[2], (u + 0.92 * size, v - 0.6 * size), (u + 0.04 * size, v - 0.6 * size)]
    tower = [
        (u - 0.26 * size, v),
        (u + 0.06 * size, v),
        (u + 0.06 * size, v - size),
        (u - 0.26 * size, v - size),
    ]
    spire = [tower[3], (u - 0.10 * size, v - 1.75 * size), tower[2]]
    for shape, tone in ((nave, 0.12), (roof, 0.4), (tower, 0.12), (spire, 0.45)):
        page.hide(shape)
        page.outline(shape, 0.8, 0.9)
        page.tint(shape, "grey", tone)
        page.shade(shape, tone, 76, "umber")
    page.shade(
        [tower[1], tower[2], (u - 0.06 * size, v - size), (u - 0.06 * size, v)], 0.5, 88, "umber"
    )
    for share in (0.2, 0.45, 0.7):
        x = u + (0.12 + 0.7 * share) * size
        page.line([(x, v - 0.08 * size), (x, v - 0.2 * size)], 1.3, 0.9, 0)


def fence(page: Page, u: float, v: float) -> None:
    posts = [(u - 0.035 * k, v + 0.012 * k, 0.022 + 0.003 * k) for k in range(7)]
    for x, y, rise in posts:
        page.line([(x, y), (x + 0.001, y - rise)], 1.3, 0.9, 0.2)
    for share in (0.45, 0.85):
        page.line([(x, y - share * rise) for x, y, rise in posts], 0.8, 0.75, 0.4)


def house(page: Page, u: float, v: float, size: float) -> None:
    """Two walls and a roof seen from one corner; the right wall lies in shade."""
    w, wall, roof = size, size * 0.42, size * 0.38
    front = [
        (u - w * 0.5, v),
        (u + w * 0.12, v + 0.01),
        (u + w * 0.12, v - wall),
        (u - w * 0.5, v - wall),
    ]
    side = [front[1], (u + w * 0.5, v - 0.012), (u + w * 0.5, v - wall), front[2]]
    gable = [front[2], side[2], (u + w * 0.33, v - wall - roof)]
    tiles = [front[3], front[2], gable[2], (u - w * 0.36, v - wall - roof)]
    chimney_u = u - w * 0.2
    chimney = [
        (chimney_u, v - wall - roof * 0.8),
        (chimney_u + w * 0.07, v - wall - roof * 0.8),
        (chimney_u + w * 0.07, v - wall - roof * 1.45),
        (chimney_u, v - wall - roof * 1.45),
    ]
    for shape in (chimney, front, side, gable, tiles):
        page.hide(shape)
        page.outline(shape, 0.9)
    page.tint(front, "ochre", 0.2)
    page.tint(tiles, "rose", 0.4)
    page.shade(side, 0.5, 88, "umber")
    page.shade(gable, 0.5, 88, "umber")
    page.shade(tiles, 0.25, 28, "rose")
    for share in (0.2, 0.62):
        left = u - w * 0.5 + share * w * 0.62
        top = v - wall * (0.75 if share < 0.5 else 0.6)
        opening = [
            (left, top),
            (left + w * 0.1, top),
            (left + w * 0.1, top + wall * 0.3),
            (left, top + wall * 0.3),
        ]
        page.outline(opening, 0.7)
        page.shade(opening, 0.75, 90, "umber")


def tree(page: Page, u: float, v: float, size: float) -> None:
    """A trunk and boughs, then masses of leaves before them, darker away from the light."""
    lean = page.random.normal(0, 0.04) * size
    crown_v = v - size * 0.70
    trunk(page, u, v, size, lean)
    places = [
        (-0.24, 0.06),
        (0.22, 0.08),
        (-0.10, -0.14),
        (0.12, -0.12),
        (0.0, 0.05),
        (-0.02, -0.24),
    ]
    for across, up in places:
        middle = (
            u + lean + (across + page.random.normal(0, 0.03)) * size,
            crown_v + (up + page.random.normal(0, 0.02)) * size,
        )
        radius = size * page.random.uniform(0.15, 0.21)
        page.curve(
            (u + lean / 2, v - 0.36 * size),
            ((u + lean + middle[0]) / 2, (v - 0.5 * size + middle[1]) / 2),
            middle,
            weight=0.9,
            pressure=0.7,
        )
        foliage(page, middle, radius)
    shade = blob(page.random, (u + 0.2 * size, v + 0.01), 0.3 * size, 0.1)
    page.shade([(x, v + 0.12 * (y - v)) for x, y in shade], 0.4, 4, "umber")


def trunk(page: Page, u: float, v: float, size: float, lean: float) -> None:
    left = [
        (u - 0.045 * size, v),
        (u - 0.022 * size + lean / 2, v - 0.2 * size),
        (u + lean - 0.012 * size, v - 0.6 * size),
    ]
    right = [
        (u + 0.045 * size, v),
        (u + 0.022 * size + lean / 2, v - 0.2 * size),
        (u + lean + 0.012 * size, v - 0.6 * size),
    ]
    body = [*left, *reversed(right)]
    page.hide(body)
    page.tint(body, "umber", 0.35)
    for edge in (left, right):
        page.curve(*edge, weight=1.2)
    page.shade([left[1], *left[2:], *reversed(right), (u, v)], 0.5, 78, "umber")


def foliage(page: Page, middle: Point, radius: float) -> None:
    """One mass of leaves: ragged outline, light above, dark below on the right."""
    outline = blob(page.random, middle, radius, 0.16)
    page.hide(outline)
    page.tint(outline, "green", 0.34)
    for _ in range(min(26, 6 + int(180 * radius))):
        turn, out = page.random.uniform(0, 2 * math.pi), radius * page.random.uniform(0.2, 1.08)
        place = (middle[0] + out * math.cos(turn), middle[1] + out * math.sin(turn))
        lower = max(0.0, (place[1] - middle[1] + 0.5 * (place[0] - middle[0])) / radius)
        dab = blob(page.random, place, radius * page.random.uniform(0.06, 0.15), 0.3, 12)
        page.tint(dab, "olive" if page.random.random() < 0.3 else "green", 0.18 + 0.4 * lower)
    leaves(page, middle, radius)
    arc = np.linspace(-0.7, 2.5, 12)
    rim = [
        (middle[0] + 0.9 * radius * math.cos(t), middle[1] + 0.9 * radius * math.sin(t))
        for t in arc
    ]
    inner = [
        (middle[0] + radius * (0.05 + 0.25 * math.cos(t)), middle[1] + 0.25 * radius * math.sin(t))
        for t in arc[::-1] + page.random.normal(0, 0.2)
    ]
    shade = [*rim, *inner]
    page.shade(shade, page.random.uniform(0.28, 0.5), page.random.normal(45, 9), "green")


def leaves(page: Page, middle: Point, radius: float) -> None:
    """Short scallops strung along the rim of a mass, and fewer within it."""
    loop = 0.032 * radius**0.5
    for ring, share in ((1.0, 0.95), (0.75, 0.5), (0.5, 0.35)):
        count = max(8, int(2 * math.pi * radius * ring / (loop * 1.3)))
        for turn in np.linspace(0, 2 * math.pi, count, endpoint=False) + page.random.uniform(0, 1):
            if page.random.random() > share:
                continue
            r = radius * ring * page.random.uniform(0.88, 1.1)
            x, y = middle[0] + r * math.cos(turn), middle[1] + r * math.sin(turn)
            spin = turn + page.random.normal(0, 0.3)
            bend = [
                (
                    x
                    + loop
                    * (0.62 * math.cos(t) * -math.sin(spin) + 0.5 * math.sin(t) * math.cos(spin)),
                    y
                    + loop
                    * (0.62 * math.cos(t) * math.cos(spin) + 0.5 * math.sin(t) * math.sin(spin)),
                )
                for t in (0.0, 0.7, 1.57, 2.4, 3.14)
            ]
            page.line(bend, 0.85, page.random.uniform(0.55, 0.95), 0.2)


def path(page: Page, u: float, v: float) -> None:
    h = page.aspect
    foot = 0.5 + page.random.uniform(-0.1, 0.1)
    left = [
        (u - 0.02, v + 0.01),
        (u + 0.05, v + 0.12 * h),
        (foot - 0.10, h * 0.86),
        (foot - 0.2, h),
    ]
    right = [
        (u + 0.005, v + 0.01),
        (u + 0.10, v + 0.12 * h),
        (foot + 0.02, h * 0.86),
        (foot + 0.05, h),
    ]
    page.tint([*left, *reversed(right)], "ochre", 0.15)
    for side in (left, right):
        page.curve(*side, pressure=0.7)


def grasses(page: Page, ground: float) -> None:
    h = page.aspect
    for _ in range(60):
        v = ground + (h - ground) * page.random.uniform(0.25, 0.97)
        u = page.random.uniform(0.02, 0.97)
        size = 0.012 + 0.035 * (v - ground) / (h - ground)
        for lean in page.random.normal(0, 0.45, 3):
            page.curve(
                (u, v),
                (u + lean * size * 0.4, v - size * 0.6),
                (u + lean * size, v - size),
                weight=0.8,
                pressure=0.6,
            )
