"""The five lights: from a surface to the linear light that reaches the lens.

Normal and raking follow Lambert's cosine law; transmitted follows the Beer-Lambert law;
specular adds the lobe of J. F. Blinn, Models of light reflection for computer synthesized
pictures (SIGGRAPH 1977); ultraviolet is emission, dimmed by what absorbs it.

x runs right, y down, z towards the viewer. An azimuth is where the light comes from, in
degrees clockwise from the top edge of the side that is seen; an elevation is its angle above
the plane of the sheet, in degrees.
"""

import math

import numpy as np

from survey.demo.sheet.noise import Field

LIGHTS = ("normal", "raking", "transmitted", "specular", "ultraviolet")

Vector = tuple[float, float, float]

# What little stray light there is in a darkened room, as a share of the lamp's.
STRAY = 0.06
# A shadow's edge is this soft, mm of height: no lamp is a point.
PENUMBRA_MM = 0.03
LONGEST_SHADOW_MM = 14.0

# Violet that leaks through the filter of the lamp, in linear red, green and blue.
LAMP_LEAK = np.array([0.016, 0.006, 0.048], dtype=np.float32)


def towards(azimuth_deg: float, elevation_deg: float) -> Vector:
    """Unit vector from the sheet to the lamp."""
    azimuth, elevation = math.radians(azimuth_deg), math.radians(elevation_deg)
    return (
        math.cos(elevation) * math.sin(azimuth),
        -math.cos(elevation) * math.cos(azimuth),
        math.sin(elevation),
    )


def normals(height_mm: Field, px_per_mm: float) -> tuple[Field, Field, Field]:
    """The unit normal of a height field, as its x, y and z."""
    down, right = np.gradient(height_mm, np.float32(1 / px_per_mm))
    length = np.sqrt(1 + right * right + down * down)
    return -right / length, -down / length, 1 / length


def lambert(height_mm: Field, px_per_mm: float, lamp: Vector) -> Field:
    """Cosine of the angle between normal and lamp, 0 where the surface turns away."""
    nx, ny, nz = normals(height_mm, px_per_mm)
    lit = nx * np.float32(lamp[0]) + ny * np.float32(lamp[1]) + nz * np.float32(lamp[2])
    return np.maximum(lit, 0)


def unshadowed(
    height_mm: Field, px_per_mm: float, azimuth_deg: float, elevation_deg: float
) -> Field:
    """1 where the lamp is seen, 0 in the shadow that something nearer the lamp casts.

    Marches towards the lamp in growing steps: the end of a shadow is right to about a pixel,
    but far from what casts it a shadow thinner than the step may be missed. Meant for looks.
    """
    fall = math.tan(math.radians(elevation_deg))
    span = float(height_mm.max() - height_mm.min())
    reach = min(span / fall, LONGEST_SHADOW_MM) * px_per_mm
    azimuth = math.radians(azimuth_deg)
    lit = np.ones_like(height_mm)
    pad = math.ceil(reach) + 1
    padded = np.pad(height_mm, pad, mode="edge")
    rows, columns = height_mm.shape
    step = 0.0
    while step < reach:
        step = min(reach, max(step + 1, step * 1.12))
        right, down = round(step * math.sin(azimuth)), round(-step * math.cos(azimuth))
        ahead = padded[pad + down : pad + down + rows, pad + right : pad + right + columns]
        rise = math.hypot(right, down) / px_per_mm * fall
        hidden = np.clip((ahead - height_mm - np.float32(rise)) / np.float32(PENUMBRA_MM), 0, 1)
        np.minimum(lit, 1 - hidden, out=lit)
    return lit


def nearness(shape: tuple[int, int], px_per_mm: float, azimuth_deg: float, lamp_mm: float) -> Field:
    """The inverse-square fall of light across the picture, 1 in its middle."""
    rows, columns = shape
    azimuth = math.radians(azimuth_deg)
    x = (np.arange(columns, dtype=np.float32) + 0.5 - columns / 2)[None, :] / px_per_mm
    y = (np.arange(rows, dtype=np.float32) + 0.5 - rows / 2)[:, None] / px_per_mm
    dx, dy = x - lamp_mm * math.sin(azimuth), y + lamp_mm * math.cos(azimuth)
    return (lamp_mm**2 / (dx * dx + dy * dy)).astype(np.float32)


def by_normal(height_mm: Field, px_per_mm: float, reflectance: Field) -> Field:
    """Two equal lamps at 45°, left and right, and the room: relief all but cancels out."""
    left = lambert(height_mm, px_per_mm, towards(270, 45))
    right = lambert(height_mm, px_per_mm, towards(90, 45))
    nz = normals(height_mm, px_per_mm)[2]
    # The left lamp a little stronger, as it always is; a flat sheet gets exactly one.
    level = (0.36 * left + 0.34 * right) / math.sin(math.radians(45)) + 0.30 * nz
    return reflectance * level.astype(np.float32)[:, :, None]


def by_raking(
    height_mm: Field,
    px_per_mm: float,
    reflectance: Field,
    azimuth_deg: float,
    elevation_deg: float,
    lamp_mm: float | None = None,
) -> Field:
    """One low lamp, exposed so that a flat sheet looks as it does under normal light."""
    lamp = towards(azimuth_deg, elevation_deg)
    lit = lambert(height_mm, px_per_mm, lamp) / np.float32(lamp[2])
    lit *= unshadowed(height_mm, px_per_mm, azimuth_deg, elevation_deg)
    if lamp_mm is not None:
        lit *= nearness(height_mm.shape, px_per_mm, azimuth_deg, lamp_mm)
    return reflectance * (STRAY + (1 - STRAY) * lit)[:, :, None]


def by_transmitted(thickness_mm: Field, absorption_per_mm: Field, absorbance: Field) -> Field:
    """Share of the light that comes through: exp(-k t - a).

    thickness_mm (rows, columns); absorption_per_mm of red, green, blue; absorbance
    (rows, columns, 3) of all that lies on and in the sheet.
    """
    return np.exp(-(thickness_mm[:, :, None] * absorption_per_mm + absorbance))


def lobe(half_cosine: Field, gloss: Field) -> Field:
    """Blinn's lobe: ((n + 2) / 2π) cosⁿ, with n from 11 (dull) to about 180 (glossy).

    n grows with gloss as from memory of paper and varnish; a broad lamp keeps it low.
    """
    sharp = 11 * np.exp2(4 * np.clip(gloss, 0, 1))
    return (sharp + 2) / np.float32(2 * math.pi) * np.maximum(half_cosine, 0) ** sharp


def by_specular(
    height_mm: Field,
    px_per_mm: float,
    reflectance: Field,
    gloss: Field,
    azimuth_deg: float,
    elevation_deg: float,
    view_elevation_deg: float | None = None,
) -> Field:
    """Lamp on one side, lens on the other, at mirror angles unless told otherwise.

    The picture is told as if straightened: each place of the sheet keeps its place.
    """
    seen_from = elevation_deg if view_elevation_deg is None else view_elevation_deg
    lamp = towards(azimuth_deg, elevation_deg)
    lens = towards(azimuth_deg + 180, seen_from)
    half = np.add(lamp, lens)
    half = half / np.linalg.norm(half)
    nx, ny, nz = normals(height_mm, px_per_mm)
    cosine = nx * np.float32(half[0]) + ny * np.float32(half[1]) + nz * np.float32(half[2])
    shine = (gloss * lobe(cosine, gloss)).astype(np.float32)
    diffuse = lambert(height_mm, px_per_mm, lamp)
    return 0.14 * reflectance * diffuse[:, :, None] + 0.55 * shine[:, :, None]


def by_ultraviolet(emission: Field, quench: Field, reflectance: Field) -> Field:
    """Fluorescence less what absorbs it, and the violet that leaks from the lamp."""
    return emission * np.exp(-quench)[:, :, None] + LAMP_LEAK * reflectance
