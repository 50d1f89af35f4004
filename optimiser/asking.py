"""What a question is asked of, and how its answer is handed over."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from pathlib import Path

from optimiser.plan_command import BadInput
from optimiser.write_out import refuse_unwritable


@dataclass(frozen=True)
class Asking:
    """Which week of which cafe is asked about. None: not said."""

    folder: str
    earlier: Path | None = None
    week: date | None = None
    today: date | None = None
    at: time | None = None
    seconds: float = 30.0


@dataclass(frozen=True)
class Handing:
    """How the answers are handed over: form, a file in the place of stdout, where plans go."""

    form: str = "text"
    out: Path | None = None
    plans: Path | None = None

    @property
    def at_once(self) -> bool:
        """Whether each answer is printed as it comes."""
        return self.form == "text" and self.out is None

    def refuse(self) -> None:
        """Raise BadInput if a place cannot be written to, before any work is done."""
        try:
            if self.out is not None:
                refuse_unwritable(self.out.resolve().parent, [self.out.name])
            if self.plans is not None:
                refuse_unwritable(self.plans.resolve(), [])
        except OSError as error:
            option = "--out" if self.out is not None and str(self.out) in str(error) else "--plans"
            raise BadInput(f"{option}: {error}; name another place") from error

    def print_line(self, line: str) -> None:
        """A line of the text; other forms have no such lines."""
        if self.at_once:
            print(line, flush=True)
