"""A learner's progress through a lesson, as a saved file holds it: the round, its settings, the prediction, the reason. No widgets."""

from __future__ import annotations

from ..errors import InputError
from ..lessons import share_code
from ..lessons.lesson import Lesson, Round
from ..lessons.result import Request
from ..scenario.hemisphere import in_the_south
from .saved_work import State

LEVELS = ("the settings of this round", "this round with its answers", "the whole lesson")  # of a reset
_SWITCHES = ("units", "south", "projector")  # they outlast every reset


class Progress:
    """How far a learner has come in one lesson; whatever is odd in a saved state is read as if it were not there."""

    def __init__(self, lesson: Lesson, state: State, plants: int) -> None:
        self.lesson, self.state, self.plants = lesson, state, plants
        turn = state.get("turn")
        self.turn = turn if isinstance(turn, int) and 0 <= turn < len(lesson.rounds) else 0

    @property
    def round(self) -> Round:
        """The round on the screen."""
        return self.lesson.rounds[self.turn]

    @property
    def work(self) -> State:
        """The learner's work in this round."""
        rounds = self.state.get("rounds")
        if not isinstance(rounds, dict):
            rounds = self.state["rounds"] = {}
        work = rounds.get(str(self.turn))
        if not isinstance(work, dict):
            work = rounds[str(self.turn)] = {}
        return work

    @property
    def south(self) -> bool:
        """Whether the seasons are those south of the equator."""
        return bool(self.state.get("south"))

    @property
    def units(self) -> str:
        """The reader's units."""
        return "us" if self.state.get("units") == "us" else "metric"

    @property
    def prediction(self) -> State | None:
        """What was predicted in this round, None before that."""
        kept = self.work.get("prediction")
        return kept if isinstance(kept, dict) and kept.get("choice") in self.round.predict.choices else None

    def words(self, sentence: str) -> str:
        """A sentence of the lesson as it holds on this half of the earth."""
        return in_the_south(sentence) if self.south else sentence

    def go_to(self, turn: int) -> None:
        """Turn to another round."""
        self.turn = self.state["turn"] = turn

    def settings(self) -> State:
        """What the shown controls are set to; a saved value that no control can take is put back to the start."""
        saved, found = self.work.get("settings", {}), self.round.start()
        for path, value in saved.items() if isinstance(saved, dict) else ():
            try:
                found = self.round.settle(found | {path: value})
            except InputError:
                continue
        return found

    def set(self, path: str, value: object) -> None:
        """Move one control."""
        self.work["settings"] = self.round.settle(self.settings() | {path: value})

    def request(self) -> Request:
        """What Run would show."""
        settings = tuple(sorted(self.settings().items()))
        return Request(self.lesson.name, self.turn, settings, self.south, self.units, self.plants)

    @property
    def ran(self) -> bool:
        """Whether the year was run with just these settings, after a prediction."""
        return self.work.get("ran") == _plain(self.request()) and self.prediction is not None

    def note_run(self) -> None:
        """Remember that the year was run with these settings."""
        self.work["ran"] = _plain(self.request())
        self.state["runs"] = int(self.state.get("runs", 0)) + 1

    def code(self) -> str:
        """The settings of this round as a code to mail to a friend."""
        return share_code.to_code(self.lesson.name, self.turn, self.south, self.round.made(), self.settings())

    def use_code(self, code: str) -> None:
        """Take a friend's settings; InputError for what is no code, or one of another lesson."""
        lesson, turn, south, packed = share_code.read_address(code)
        if lesson != self.lesson.name or turn >= len(self.lesson.rounds):
            raise InputError(f"This code belongs to lesson {lesson}. Please open that one, and use it there.")
        settings = share_code.from_code(packed, self.lesson.rounds[turn].made())
        self.go_to(turn)
        self.state["south"] = south
        self.work["settings"] = settings

    def reset(self, level: str) -> None:
        """Forget one of LEVELS; the switches stay as they are."""
        if level == LEVELS[0]:
            self.work.pop("settings", None)
            self.work.pop("ran", None)
        elif level == LEVELS[1]:
            self.state.get("rounds", {}).pop(str(self.turn), None)
        else:
            for key in set(self.state).difference(_SWITCHES):
                del self.state[key]
            self.turn = 0


def _plain(request: Request) -> list[object]:
    """A request as a saved file holds it."""
    settings = [list(pair) for pair in request.settings]
    return [request.lesson, request.turn, settings, request.south, request.units, request.plants]
