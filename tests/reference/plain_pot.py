"""A plain reference for a pot: two parts that dry hour by hour, a wet foot, and a solution, as a straightforward modeller would write them.

Scalar Python with numbers written out; the rows of fresh media and of pots are those of the package. No outer pot: what runs through is tipped away.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from orchid_year.pot.medium import FRESH
from orchid_year.scenario.plant import Pot


def ramp(value: float, low: float, high: float) -> float:
    """0 below low, 1 above high, straight between."""
    return min(max((value - low) / (high - low), 0.0), 1.0)


@dataclass
class Bed:
    """What a medium holds at its age in a pot of some depth, per volume; the wet foot in cm."""

    pores: float
    capacity: float
    foot: float
    scarce: float
    dry: float
    air_dry: float
    top: float

    @classmethod
    def of(cls, medium: str, lost: float, depth: float) -> Bed:
        """A medium that has lost some air space: less of it is pore, more of it holds water, and the wet foot is deeper.

        Water after draining is that of two layers, a foot that is nine tenths full and what lies above it; both are stated for 11 cm.
        """
        new = FRESH[medium]
        stated = new.perched / 11
        above = (new.container_capacity - 0.9 * new.total_porosity * stated) / (1 - stated)
        pores = new.total_porosity - 0.1 * lost
        above = min(above + 0.9 * lost, 0.9 * pores)
        foot = new.perched + 6 * lost
        wet = min(foot / depth, 1.0)
        capacity = min(wet * 0.9 * pores + (1 - wet) * above, pores - 0.02)
        scarce = min(new.scarce, 0.9 * capacity)
        dry, air_dry = min(new.dry, 0.9 * scarce), min(new.air_dry, 0.8 * scarce)
        return cls(pores, capacity, foot, scarce, dry, air_dry, new.top_evaporation + min(lost, 0.15))

    def roots_breathe(self, content: float, depth: float) -> tuple[float, float]:
        """How freely roots breathe above the wet foot, and how deep [cm] that foot is without air, at a mean content."""
        foot_share = min(self.foot / depth, 1.0)
        wetness = ramp(content, self.scarce, self.capacity)
        at_foot = min(max(content + wetness * (0.9 * self.pores - self.capacity), content), 0.9 * self.pores)
        above = at_foot if foot_share == 1 else (content - foot_share * at_foot) / (1 - foot_share)
        sodden = 1 - ramp(self.pores - at_foot, 0.10, 0.25)
        return ramp(self.pores - above, 0.10, 0.25), self.foot * sodden


class PlainPot:
    """One pot: water where roots are and where none are [mL], salt [mS/cm mL] and nitrogen [mg], and what roots met since dawn."""

    def __init__(self, pot: Pot, in_pot: float) -> None:
        self.medium, self.depth, self.width = pot.medium, pot.depth, pot.diameter
        self.volume = 0.85 * math.pi * pot.depth / 12 * pot.diameter**2 * 2.19
        self.lost = pot.age * FRESH[pot.medium].air_loss
        self.bed = Bed.of(self.medium, self.lost, self.depth)
        self.rooted = 1.0
        self.inside, self.outside = self.bed.capacity * self.volume, 0.0
        self.salt, self.nitrogen = 0.6 * self.inside, 0.03 * self.inside
        self.root_into(in_pot)
        self.begin_day()

    @property
    def water(self) -> float:
        """Water in the whole pot [mL]."""
        return self.inside + self.outside

    @property
    def full(self) -> float:
        """Water of the freshly drained pot [mL]."""
        return self.bed.capacity * self.volume

    @property
    def content(self) -> float:
        """Water per volume where roots are."""
        return self.inside / (self.rooted * self.volume)

    @property
    def bare_content(self) -> float:
        """Water per volume where no roots are; in a pot that is rooted through, as where they are."""
        return self.outside / ((1 - self.rooted) * self.volume) if self.rooted < 1 else self.content

    @property
    def wet_area(self) -> float:
        """Open water [m²] that evaporates as the moist pot does, top and slotted plastic wall."""
        side = 0.04 * math.pi * 0.85 * self.width * self.depth
        return 1e-4 * (self.bed.top * math.pi / 4 * self.width**2 + side)

    def begin_day(self) -> None:
        """Forget what roots met yesterday."""
        self.hours = 0
        self._ease = self._breath = self._foot = 0.0

    def met(self) -> tuple[float, float, float]:
        """Since dawn, by the hour: ease of drinking, freedom of breathing above the foot, cm of foot without air."""
        return self._ease / self.hours, self._breath / self.hours, self._foot / self.hours

    def root_into(self, in_pot: float) -> None:
        """So much live root in the pot [cm]; water stays where it is while the border between the two parts moves."""
        rooted = min(max(in_pot / (0.30 * self.volume), 0.1), 1.0)
        if rooted < self.rooted:
            moved = self.inside * (1 - rooted / self.rooted)
        else:
            moved = -self.bare_content * (rooted - self.rooted) * self.volume
        self.inside, self.outside, self.rooted = self.inside - moved, self.outside + moved, rooted

    def dry_an_hour(self, evaporation: float, thirst: float) -> None:
        """An hour of air that takes so much of open water [mm] and a plant that would drink so much [mL]."""
        bed, taken = self.bed, evaporation * self.wet_area * 1000
        content, bare = self.content, self.bare_content
        about = content + 0.5 * (1 - self.rooted) * max(bare - content, 0.0)
        ease = ramp(content, bed.dry, bed.scarce)
        breath, foot = bed.roots_breathe(about, self.depth)
        self.hours += 1
        self._ease, self._breath, self._foot = self._ease + ease, self._breath + breath, self._foot + foot
        stage = max(0.9 * bed.capacity, bed.scarce)
        self.inside -= thirst * ease + taken * self.rooted * ramp(content, bed.air_dry, stage)
        self.inside = max(self.inside, bed.air_dry * self.rooted * self.volume)
        self.outside -= taken * (1 - self.rooted) * ramp(bare, bed.air_dry, stage)

    def even_out(self, hours: int) -> None:
        """Water creeps from the wetter part to the drier, to 37 % of the difference in some days of a full pot."""
        moist = ramp(max(self.content, self.bare_content), self.bed.air_dry, self.bed.capacity)
        less = math.exp(-moist * hours / 24 / FRESH[self.medium].evens_in)
        mean, gap = self.water / self.volume, (self.content - self.bare_content) * less
        total = self.water
        self.inside = (mean + gap * (1 - self.rooted)) * self.rooted * self.volume
        self.outside = total - self.inside

    def _fill(self, kept: float) -> None:
        """Water goes where there is room below the drained content."""
        room = max(self.bed.capacity - self.content, 0.0) * self.rooted
        bare_room = max(self.bed.capacity - self.bare_content, 0.0) * (1 - self.rooted)
        share = room / (room + bare_room) if room + bare_room > 0 else self.rooted
        self.inside, self.outside = self.inside + kept * share, self.outside + kept * (1 - share)

    def _willing(self) -> float:
        """How readily the medium takes water: dry bark lets most of it run past."""
        repels = FRESH[self.medium].repellent
        return min(max((self.water / self.volume - repels) / (self.bed.scarce - repels), 0.25), 1.0)

    def soak(self, minutes: float, conductivity: float, lime: float, nitrogen: float) -> None:
        """Stand it in water [mS/cm], lime a share of its salt, [mg/L N]; half of the drained pot's water is exchanged."""
        catches = FRESH[self.medium].soak_caught * max(self._willing(), 1 - math.exp(-minutes / 8))
        self._water(catches * (self.full - self.water), 0.5 * self.full, conductivity, lime, nitrogen)

    def pour(self, volumes: float, conductivity: float, lime: float, nitrogen: float) -> None:
        """Pour so many pot volumes: the first tenth of a volume soaks in, the rest runs past as the medium lets it."""
        given, room = volumes * self.volume, max(self.full - self.water, 0.0)
        full_pour = FRESH[self.medium].pour_caught * self._willing()
        slow = min(given, 0.1 * self.volume)
        kept = room * math.tanh((0.90 * slow + full_pour * (given - slow)) / room) if room > 0 else 0.0
        self._water(kept, given - kept, conductivity, lime, nitrogen)

    def _water(self, kept: float, through: float, conductivity: float, lime: float, nitrogen: float) -> None:
        """Eight tenths of what runs through has mixed with the pot's solution; the rest leaves as it was poured."""
        given = kept + through
        mixed, dissolved = self.water + given, conductivity * (1 - lime)
        salt, feed = self.salt + dissolved * given, self.nitrogen + 1e-3 * nitrogen * given
        self.salt = max(salt - through * (0.8 * salt / mixed + 0.2 * dissolved), 0.0)
        self.nitrogen = max(feed - through * (0.8 * feed / mixed + 0.2e-3 * nitrogen), 0.0)
        self._fill(kept)

    def flush(self, volumes: float, conductivity: float) -> None:
        """Run plain water [mS/cm] through: the solution nears the water's own strength."""
        new = FRESH[self.medium]
        after = max(new.soak_caught * self.full, self.water)
        fade = math.exp(-new.leaching * volumes * self.volume / after)
        self.salt = conductivity * after + (self.salt - conductivity * after) * fade
        self.nitrogen *= fade
        self._fill(after - self.water)

    def age(self, celsius: float) -> None:
        """A day of crumbling: twice as fast 10 K warmer, faster in a wet pot."""
        pace = 2 ** ((celsius - 20) / 10) * (0.7 + 0.6 * self.water / self.full)
        self.lost = min(self.lost + FRESH[self.medium].air_loss / 365 * pace, FRESH[self.medium].total_porosity)
        self.bed = Bed.of(self.medium, self.lost, self.depth)
