"""Daylight through a window: sun and sky on a pane of any direction, what passes it, and what reaches a leaf behind it."""

from __future__ import annotations

from typing import Annotated, NamedTuple, Protocol

import numpy as np

from ..scenario.home import Spot
from ..vocabulary.coefficients import coefficient, column
from .physics import glazing_transmittance, ppfd_from_global


class Pane(NamedTuple):
    """One kind of glazing. Source evidence.md#glazing-conductance, evidence.md#glazing-sun-and-light."""

    conductance: Annotated[
        float,
        column(
            "W m⁻² K⁻¹",
            "heat let through by the middle of the pane",
            "evidence.md#glazing-conductance",
            "common practice",
        ),
    ]
    visible: Annotated[
        float, column("", "share of light let through straight on", "evidence.md#glazing-sun-and-light", "from memory")
    ]
    solar: Annotated[
        float, column("", "share of sun heat let through", "evidence.md#glazing-sun-and-light", "common practice")
    ]
    panes: int


PANES = {
    "single": Pane(5.8, 0.90, 0.85, 1),
    "double": Pane(2.8, 0.81, 0.76, 2),
    "low-e double": Pane(1.1, 0.79, 0.60, 2),
    "triple": Pane(0.7, 0.72, 0.50, 3),
}


class Hanging(NamedTuple):
    """What hangs in front of the glass by day."""

    passes: Annotated[
        float, column("", "share of light that a curtain lets through", "evidence.md#curtain-light", "common practice")
    ]
    scatters: Annotated[float, column("", "share of the sunlight let through that a curtain scatters")]


CURTAINS = {
    "none": Hanging(1.0, 0.0),
    "net": Hanging(0.65, 0.6),
    "dense": Hanging(0.25, 1.0),
    "drawn at night": Hanging(1.0, 0.0),
}
GROUND = coefficient(0.2, "", "albedo of the ground outside", "evidence.md#ground-albedo", "common practice")
WALLS = coefficient(
    0.5, "", "mean reflectance of a room's walls, ceiling and floor", "evidence.md#room-reflectance", "common practice"
)
WALLS_OF_A_ROOM = 6  # faces of a room as wide as it is high
SKYLIGHT_THROUGH_GLASS = coefficient(0.85, "", "share of skylight that glass passes, against light straight on it")
ABOVE_SILL = coefficient(0.15, "m", "height of the leaves above the sill")
FRAME = coefficient(0.1, "m", "a sun that stands so far outside the window's edge still lights part of the plant")
ZENITH = coefficient(
    3, "", "brightness of an overcast sky overhead against that at the horizon", "MOON1942", "from memory"
)
# what a level surface gets from the whole of that sky, whose brightness overhead is 1
OVERCAST_SKY = coefficient(7 * np.pi / 9, "", "light of an overcast sky in the open", "MOON1942", "from memory")
_NEAREST = 0.05  # m: no leaf is nearer to the pane, so that its angles stay plain
_STRIPS = 60  # over half the width and over the height of a window, when its light is summed
_STEEP, _STEEP_EAVE = (
    1.56,
    1.55,
)  # rad: sun almost overhead, or almost in the plane of the wall, so that no tangent runs away
_LEAST_AHEAD, _LEAST_AHEAD_EAVE = 1e-6, 0.02  # cosines of a sun almost in the plane of the wall
_BEHIND = 9  # m: where a ray from a sun behind the wall would meet it, beyond any window


class Sky(Protocol):
    """The hours of weather that a window needs; see weather.Outdoors."""

    beam_normal: np.ndarray
    diffuse_horizontal: np.ndarray
    global_horizontal: np.ndarray
    elevation: np.ndarray
    azimuth: np.ndarray


class Daylight(NamedTuple):
    """Light at a leaf behind a window, each (h,)."""

    ppfd: np.ndarray  # µmol m⁻² s⁻¹ on a horizontal leaf
    shortwave: np.ndarray  # W/m² of sun heat on it
    through: np.ndarray  # W/m² of sun heat per m² of window


def daylight(sky: Sky, spot: Spot, pane: Pane, volume: float) -> Daylight:
    """Light at the leaf, hour by hour, in a room of some volume [m³].

    Source  isotropic sky on the pane for its heat, overcast sky through it for the leaf (MOON1942); Fresnel angles (DUFFIE2013).
    """
    relative = np.radians(sky.azimuth - spot.facing)
    height = np.radians(sky.elevation)
    towards = np.cos(height) * np.cos(relative)  # cosine of the angle on the pane
    in_front = (towards > 0) & (sky.elevation > spot.obstruction)
    angle = np.degrees(np.arccos(np.clip(towards, 0, 1)))
    bend = glazing_transmittance(angle, pane.panes) / glazing_transmittance(np.zeros(1), pane.panes)
    passed, scattered = CURTAINS[spot.curtain]

    beam_on_pane = sky.beam_normal * towards * in_front
    shaded = _overhang_shade(spot, height, relative)
    reaches = _beam_reaches(spot, height, relative) & in_front
    direct = sky.beam_normal * np.sin(np.maximum(height, 0)) * reaches * bend * passed * (1 - scattered)
    open_sky = pane_sky(spot.obstruction, spot.overhang, spot.window_height)
    sky_pane = 0.5 * sky.diffuse_horizontal * open_sky + 0.5 * GROUND * sky.global_horizontal
    extra = beam_on_pane * (1 - shaded) * bend * passed * scattered  # sun that the curtain turns into skylight
    factor = sky_factor(
        spot.window_width, spot.window_height, spot.distance, pane.panes, spot.obstruction, spot.overhang
    )
    entering = beam_on_pane * (1 - shaded) * bend + SKYLIGHT_THROUGH_GLASS * sky_pane
    reflected = room_share(spot.window_width * spot.window_height, volume) * entering * passed
    diffuse = factor * sky.diffuse_horizontal * passed + 2 * factor * extra + reflected
    through = entering * pane.solar * passed
    ppfd = ppfd_from_global(pane.visible * (direct + diffuse))
    return Daylight(ppfd, pane.solar * (direct + diffuse), through)


def pane_sky(obstruction: float, overhang: float, height: float) -> float:
    """Share of an even sky's light on an upright pane that houses opposite and an eave leave.

    obstruction [°] of a long row opposite; overhang [m] of a long eave over a window of that height [m]
    Equation  sin(top) - sin(obstruction), the view of an upright surface on a band of sky between two horizons
    Source    view factors of long strips (crossed strings; DUFFIE2013, from memory).
    """
    top = np.arctan2(0.5 * height, overhang)  # the eave's edge as the middle of the pane sees it
    return float(max(np.sin(top) - np.sin(np.radians(obstruction)), 0.0))


def room_share(window: float, volume: float) -> float:
    """Light that walls and ceiling send everywhere, against the light on the pane, before the pane's own loss.

    window [m²]; volume [m³] of a room as wide as it is high
    Equation  W R / (A (1 - R)), the flux let in shared over all surfaces A = 6 volume^(2/3)
    Source    the inter-reflected part of the BRS split-flux method (from memory: about 0.5 to 1.5 % of the light outdoors).
    """
    return window * WALLS / (WALLS_OF_A_ROOM * volume ** (2 / 3) * (1 - WALLS))


def sky_factor(
    width: float, height: float, distance: float, panes: int = 2, obstruction: float = 0.0, overhang: float = 0.0
) -> float:
    """Light of an overcast sky on a horizontal leaf at sill level, against the leaf in the open, before the pane's own loss.

    width, height [m] of the window; distance [m] from it; panes of glass; obstruction [°]; overhang [m]
    Equation integral over the window of (1 + 2 sin γ) / 3 × sin γ dω over 7 π / 9, with the glass's loss at an angle
    Source   the CIE standard overcast sky (MOON1942); compared with the daylight factors of evidence.md#daylight-factor-by-distance.
    """
    far = max(distance, _NEAREST)
    # The eave hides what lies above the line from the leaf to its edge; houses hide what lies below theirs.
    top = height * far / (far + overhang) if overhang > 0 else height
    low = min(far * np.tan(np.radians(obstruction)), top)
    across = (np.arange(_STRIPS) + 0.5) / _STRIPS * width / 2
    up = low + (np.arange(_STRIPS) + 0.5)[:, None] / _STRIPS * (top - low)
    ray = np.sqrt(far**2 + across**2 + up**2)
    rise = up / ray
    angle = np.degrees(np.arccos(far / ray))
    passed = glazing_transmittance(angle, panes) / glazing_transmittance(np.zeros(1), panes)
    piece = 2 * (width / 2 / _STRIPS) * ((top - low) / _STRIPS) * far / ray**3
    return float(((1 + (ZENITH - 1) * rise) / ZENITH * rise * passed * piece).sum() / OVERCAST_SKY)


def _beam_reaches(spot: Spot, height: np.ndarray, relative: np.ndarray) -> np.ndarray:
    """Whether a ray from the leaf to the sun passes the window: within its width, above the sill, below its head and eave."""
    far = max(spot.distance, _NEAREST)
    ahead = np.maximum(np.cos(relative), _LEAST_AHEAD)
    sideways = np.abs(far * np.tan(np.clip(relative, -_STEEP, _STEEP))) * (np.cos(relative) > 0)
    sideways = sideways + _BEHIND * (np.cos(relative) <= 0)
    rise = far / ahead * np.tan(np.clip(height, 0, _STEEP)) + ABOVE_SILL
    under_eave = (
        (far + spot.overhang) / ahead * np.tan(np.clip(height, 0, _STEEP)) + ABOVE_SILL <= spot.window_height
        if spot.overhang > 0
        else True
    )
    return (sideways <= spot.window_width / 2 + FRAME) & (rise <= spot.window_height + FRAME) & (rise >= 0) & under_eave


def _overhang_shade(spot: Spot, height: np.ndarray, relative: np.ndarray) -> np.ndarray:
    """Share of the pane in the shadow of an eave above it: depth times the tangent of the profile angle."""
    profile = np.tan(np.clip(height, 0, _STEEP_EAVE)) / np.maximum(np.cos(relative), _LEAST_AHEAD_EAVE)
    return np.clip(spot.overhang * profile / spot.window_height, 0, 1)
