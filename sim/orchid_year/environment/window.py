"""Daylight through a window: sun and sky on a pane of any direction, what passes it, and what reaches a leaf behind it."""

from __future__ import annotations

from typing import NamedTuple, Protocol

import numpy as np

from ..scenario.home import Spot
from .physics import glazing_transmittance, ppfd_from_global


class Pane(NamedTuple):
    """Properties of one kind of glazing: thermal conductance, visible and solar transmittance, panes (evidence.md#glazing-conductance
    evidence.md#glazing-sun-and-light).
    """

    conductance: float  # W m⁻² K⁻¹
    visible: float
    solar: float
    panes: int


PANES = {
    "single": Pane(5.8, 0.90, 0.85, 1),
    "double": Pane(2.8, 0.81, 0.76, 2),
    "low-e double": Pane(1.1, 0.79, 0.60, 2),
    "triple": Pane(0.7, 0.72, 0.50, 3),
}
CURTAIN = {"none": 1.0, "net": 0.65, "dense": 0.25, "drawn at night": 1.0}  # share of light passed (common practice)
DIFFUSES = {"none": 0.0, "net": 0.6, "dense": 1.0, "drawn at night": 0.0}  # share of the passed beam that is scattered
GROUND = 0.2  # albedo of the ground outside
WALLS = 0.5  # mean reflectance of the room's walls, ceiling and floor (common practice)
ABOVE_SILL = 0.15  # m: the leaves stand this far above the sill


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
    passed, scattered = CURTAIN[spot.curtain], DIFFUSES[spot.curtain]

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
    entering = beam_on_pane * (1 - shaded) * bend + 0.85 * sky_pane
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
    return window * WALLS / (6 * volume ** (2 / 3) * (1 - WALLS))


def sky_factor(
    width: float, height: float, distance: float, panes: int = 2, obstruction: float = 0.0, overhang: float = 0.0
) -> float:
    """Light of an overcast sky on a horizontal leaf at sill level, against the leaf in the open, before the pane's own loss.

    width, height [m] of the window; distance [m] from it; panes of glass; obstruction [°]; overhang [m]
    Equation integral over the window of (1 + 2 sin γ) / 3 × sin γ dω over 7 π / 9, with the glass's loss at an angle
    Source   the CIE standard overcast sky (MOON1942); compared with the daylight factors of evidence.md#daylight-factor-by-distance.
    """
    far = max(distance, 0.05)
    # The eave hides what lies above the line from the leaf to its edge; houses hide what lies below theirs.
    top = height * far / (far + overhang) if overhang > 0 else height
    low = min(far * np.tan(np.radians(obstruction)), top)
    across = (np.arange(60) + 0.5) / 60 * width / 2
    up = low + (np.arange(60) + 0.5)[:, None] / 60 * (top - low)
    ray = np.sqrt(far**2 + across**2 + up**2)
    rise = up / ray
    angle = np.degrees(np.arccos(far / ray))
    passed = glazing_transmittance(angle, panes) / glazing_transmittance(np.zeros(1), panes)
    piece = 2 * (width / 2 / 60) * ((top - low) / 60) * far / ray**3
    return float(((1 + 2 * rise) / 3 * rise * passed * piece).sum() / (7 * np.pi / 9))


def _beam_reaches(spot: Spot, height: np.ndarray, relative: np.ndarray) -> np.ndarray:
    """Whether a ray from the leaf to the sun passes the window: within its width, above the sill, below its head and eave."""
    far = max(spot.distance, 0.05)
    ahead = np.maximum(np.cos(relative), 1e-6)
    sideways = np.abs(far * np.tan(np.clip(relative, -1.56, 1.56))) * (np.cos(relative) > 0) + 9 * (
        np.cos(relative) <= 0
    )
    rise = far / ahead * np.tan(np.clip(height, 0, 1.56)) + ABOVE_SILL
    under_eave = (
        (far + spot.overhang) / ahead * np.tan(np.clip(height, 0, 1.56)) + ABOVE_SILL <= spot.window_height
        if spot.overhang > 0
        else True
    )
    return (sideways <= spot.window_width / 2 + 0.1) & (rise <= spot.window_height + 0.1) & (rise >= 0) & under_eave


def _overhang_shade(spot: Spot, height: np.ndarray, relative: np.ndarray) -> np.ndarray:
    """Share of the pane in the shadow of an eave above it: depth times the tangent of the profile angle."""
    profile = np.tan(np.clip(height, 0, 1.55)) / np.maximum(np.cos(relative), 0.02)
    return np.clip(spot.overhang * profile / spot.window_height, 0, 1)
