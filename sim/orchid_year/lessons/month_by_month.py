"""A year in twelve steps: look at the plant and the pot, decide what to do next month, and see where it leads. No widgets here.

A course is a list of monthly choices. It is replayed from the start whenever it is asked for, so that saving the choices saves
everything, and going back a month is leaving off the last one.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial

from ..analysis import knock_out
from ..analysis.reasons import ADVERSE, ROOT_WORDS, no_flower, told, why
from ..errors import InputError
from ..plant.causes import ROOT_CAUSES
from ..scenario.care import Care, Cover, CutSpike, Deed, Move, Repot, Stake
from ..scenario.hemisphere import southern
from ..scenario.scenario import Scenario
from ..simulation.conditions import Conditions, prepare
from ..simulation.record import Record
from ..simulation.year import Year
from ..vocabulary.dates import spell_date

WATERING = {
    "when the pot is light": {"rule": "when dry"},
    "every 4 days": {"rule": "fixed days", "every_days": 4, "winter_every_days": 4},
    "every 7 days": {"rule": "fixed days", "every_days": 7, "winter_every_days": 7},
    "every 14 days": {"rule": "fixed days", "every_days": 14, "winter_every_days": 14},
    "every 60 days": {"rule": "fixed days", "every_days": 60, "winter_every_days": 60},
}
FEEDING = {"weak feed": 100.0, "no feed": 0.0, "strong feed": 400.0}
_DEED_ON: dict[str, Callable[[str], Deed]] = {  # in words -> as the care knows it, on a date
    "repot into medium bark": lambda on: Repot(on=on, medium="medium bark"),
    "repot into coarse bark": lambda on: Repot(on=on, medium="coarse bark"),
    "repot into fresh moss in a small pot": lambda on: Repot(on=on, medium="sphagnum", diameter=8, handling="gentle"),
    "put a clear bag over it for eight weeks": lambda on: Cover(on=on, days=56),
    "stake the spike": lambda on: Stake(on=on),
    "cut the spike above a node": lambda on: CutSpike(on=on, where="above a node"),
    "cut the spike at the base": lambda on: CutSpike(on=on, where="at the base"),
}
DEEDS = ("nothing", *_DEED_ON)
PLANTS = {  # in words -> as it is handed over
    "a sound plant": {},
    "hardly a root left, in old wet moss": {
        "plant.roots": 20.0,
        "plant.leaves": 4.0,
        "pot.medium": "sphagnum",
        "pot.age": 2.5,
    },
}
SPOTS = ("sill", "south sill", "north sill", "table", "shelf", "over the radiator", "cool bedroom", "garden")
_NOTED = (
    "spike shows",
    "first bud",
    "first flower",
    "last flower fades",
    "new leaf",
    "new root tips",
    "bloom lost",
    "roots failing",
    "medium worn out",
    *ADVERSE,
)


@dataclass(frozen=True)
class Choice:
    """What the learner decides for one month."""

    watering: str = "when the pot is light"
    feeding: str = "weak feed"
    spot: str = "sill"
    deed: str = "nothing"

    def __post_init__(self) -> None:
        for what, value, known in (
            ("watering", self.watering, WATERING),
            ("feeding", self.feeding, FEEDING),
            ("place", self.spot, SPOTS),
            ("deed", self.deed, DEEDS),
        ):
            if value not in known:
                raise InputError(f"The {what} can't be {value!r}. Please choose one of: {', '.join(known)}.")


@dataclass(frozen=True)
class Month:
    """How things stand on the morning after the last choice's month: what one sees, feels and has noted."""

    number: int
    today: dt.date
    pot: str  # how heavy it feels
    seen: tuple[str, ...]  # diary lines of the month, symptoms with dates
    record: Record


def begin(climate: str = "maritime", south: bool = False, seed: int = 1, plant: str = next(iter(PLANTS))) -> Scenario:
    """The plant as it is handed over, a name of PLANTS: a single one, in June in the north and in December in the south."""
    scenario = Scenario.of(
        climate=climate, home="terrace house", care="sound practice", seed=seed, title="Month by month"
    )
    scenario = scenario.but("care.deeds", ()).changed(PLANTS[plant])
    return southern(scenario) if south else scenario


@lru_cache(maxsize=4)
def _conditions(scenario: Scenario) -> Conditions:
    return prepare([scenario])


def play(scenario: Scenario, choices: Sequence[Choice]) -> Month:
    """Live the months that were decided, up to the morning on which the next decision is due."""
    if len(choices) > 12:
        raise InputError(f"A year has twelve months (got {len(choices)}). Please begin again.")
    year = Year(scenario, 1, conditions=_conditions(scenario))
    begun = _live(year, scenario, choices)
    record = year.record()
    return Month(len(choices), year.today, _weight_in_words(record), _diary_since(record, begun), record)


def _live(year: Year, scenario: Scenario, choices: Sequence[Choice]) -> int:
    """Live the months that were decided; the day on which the last of them began."""
    begun = 0
    for number, choice in enumerate(choices):
        begun = year.day
        _carry_out(year, choice)
        year.run(until=_month_after(scenario, number + 1))
    return begun


def _month_after(scenario: Scenario, number: int) -> dt.date:
    """The date so many months after the start."""
    first = scenario.start
    months = first.month - 1 + number
    if number == 12:
        return first + dt.timedelta(days=scenario.days)
    return first.replace(year=first.year + months // 12, month=months % 12 + 1, day=1)


def _carry_out(year: Year, choice: Choice) -> None:
    """Change the care, carry the plant to its place and do the deed, on this morning."""
    care: Care = year.growers[0].care
    watering = care.watering.model_copy(update=WATERING[choice.watering])
    strength = FEEDING[choice.feeding]
    feeding = care.feeding.model_copy(update={"strength": strength, "winter_strength": strength})
    year.change_care(care.model_copy(update={"watering": watering, "feeding": feeding}))
    on = year.today.isoformat()
    stands_at = year.conditions.spots[int(year.cohort.plants.spot[0])]
    if choice.spot != stands_at:
        year.do(Move(on=on, spot=choice.spot))
    if choice.deed in _DEED_ON:
        year.do(_DEED_ON[choice.deed](on))


def _weight_in_words(record: Record) -> str:
    """How heavy the pot feels at the end of a record."""
    if record.days == 0:
        return "heavy: it has just been watered"
    share = float(record["water share"][-1, 0])
    for least, words in (
        (0.75, "heavy: it was watered not long ago"),
        (0.45, "neither heavy nor light"),
        (0.25, "light: nearly dry"),
    ):
        if share >= least:
            return words
    return "as light as a feather: it has been dry for days"


def _diary_since(record: Record, begun: int) -> tuple[str, ...]:
    """The diary from a day on: what was seen and when; the cause is for the learner to find."""
    lines, seen = [], set()
    for event in record.diary:
        if event.day >= begun and event.kind in _NOTED and event.kind not in seen:
            seen.add(event.kind)
            lines.append(f"{spell_date(record.date(event.day))}: {_seen(event.kind)}.")
    watered = sum(event.kind in ("water", "feed", "flush") and event.day >= begun for event in record.diary)
    times = "not watered" if watered == 0 else "watered once" if watered == 1 else f"watered {watered} times"
    return (*lines, f"In this month it was {times}.") if record.days else ()


def _seen(kind: str) -> str:
    """A kind of diary line as what was seen, in the middle of a sentence."""
    words = {"new leaf": "a new leaf began", "first bud": "the first bud could be seen"}.get(kind) or told(kind)
    return f"{words[0].lower()}{words[1:]}"


def causes(record: Record) -> list[str]:
    """Why each harm of the year came, for the end of the course."""
    first_day: dict[tuple[str, str], int] = {}  # of each harm by each cause
    for event in record.diary:
        if event.kind in ADVERSE:
            first_day.setdefault((event.kind, event.cause), event.day)
        elif event.kind == "roots failing":
            first_day.setdefault((event.kind, _main_root_cause(record, event.day)), event.day)
    lines = []
    for (kind, cause), day in sorted(first_day.items(), key=lambda pair: pair[1]):
        because = ROOT_WORDS[cause] if kind == "roots failing" else why(kind, cause)[0]
        lines.append(f"{spell_date(record.date(day))}: {_seen(kind)}, because {because}.")
    return lines


@lru_cache(maxsize=8)
def why_no_flower(scenario: Scenario, choices: tuple[Choice, ...]) -> tuple[str, ...]:
    """Why the plant did not flower in the months that were decided, as its other lives have it; nothing where it did.

    Each of its other lives is a course of the same choices, so it takes a second or two; the latest answers are kept.
    """
    record = play(scenario, choices).record
    lives = knock_out.OtherLives(partial(_live_again, scenario, choices))
    return tuple(no_flower(knock_out.why_no_flower(record, lives), record))


def _live_again(scenario: Scenario, choices: Sequence[Choice], right: frozenset[str]) -> Record:
    """The same course with some things put right: no spike cut, a grown plant, more time under the last choice, or a harm spared."""
    asked = scenario
    if knock_out.TOO_SHORT in right:
        asked = knock_out.longer(scenario, scenario.days)
    if knock_out.SMALL in right:
        asked = knock_out.grown(asked)
    if knock_out.CUT in right:
        choices = [replace(one, deed="nothing") if one.deed.startswith("cut the spike") else one for one in choices]
    year = Year(asked, 1, conditions=_conditions(asked), without=right - knock_out.OUTSIDE)
    _live(year, scenario, choices)
    return year.run().record() if knock_out.TOO_SHORT in right else year.record()


def _main_root_cause(record: Record, day: int) -> str:
    """What took the most roots up to a day."""
    lost = {cause: float(record[f"root: {cause}"][: day + 1].sum()) for cause in ROOT_CAUSES}
    return max(lost, key=lambda cause: lost[cause])
