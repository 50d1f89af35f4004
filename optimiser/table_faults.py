"""What is wrong in a cafe folder, collected so that a person mends it all at once."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches

SHOWN_CHARACTERS = 60
BLANK = "(blank)"
NAMES_IN_A_NOTE = 12

MATCH_LOOKUPS = 60
MATCH_AMONG = 2500
"""Limits on the search for nearest matches, which is slow in a hostile folder."""


@dataclass(frozen=True)
class Fault:
    """One thing to mend. `row` is the line in the file, the header being 1."""

    file: str
    row: int | None
    column: str | None
    value: str
    message: str

    def __str__(self) -> str:
        """`file:row:column: value: what is wrong, and the mend`, or `file: ...`."""
        if self.row is not None:
            place = f"{self.file}:{self.row}:{self.column or ''}"
            return f"{place}: {shown(self.value)}: {self.message}"
        parts = [self.file, self.column or ""]
        parts += [shown(self.value)] if self.value else []
        return ": ".join(part for part in (*parts, self.message) if part)


class TableFaults(Exception):
    """A folder that is no valid cafe; `faults` holds every reason."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


def shown(value: str) -> str:
    """`value` on one line, printable and of bounded length."""
    text = "".join(c if c.isprintable() else ascii(c)[1:-1] for c in value[: SHOWN_CHARACTERS + 1])
    if len(text) > SHOWN_CHARACTERS:
        text = text[:SHOWN_CHARACTERS] + "..."
    return text or BLANK


class Nearest:
    """The known name closest to a mistyped one, within a budget of lookups."""

    def __init__(self) -> None:
        self._answers: dict[tuple[str, str], str] = {}

    def hint(self, what: str, value: str, known: Collection[str]) -> str:
        """`; did you mean x?`, or nothing when no known name is near."""
        key = (what, value)
        if key not in self._answers:
            if len(self._answers) >= MATCH_LOOKUPS or len(known) > MATCH_AMONG:
                return ""
            near = get_close_matches(value[:SHOWN_CHARACTERS], list(known), n=1)
            self._answers[key] = f"; did you mean {shown(near[0])}?" if near else ""
        return self._answers[key]


@dataclass
class Findings:
    """Faults and notes gathered while a folder is read.

    Notes say what was defaulted; ids that share a note are listed together.
    """

    faults: list[Fault] = field(default_factory=list)
    nearest: Nearest = field(default_factory=Nearest)
    _notes: dict[str, dict[str, None]] = field(default_factory=dict)

    def fault(
        self, file: str, row: int | None, column: str | None, value: str, message: str
    ) -> None:
        """Add one fault."""
        self.faults.append(Fault(file, row, column, value, message))

    def note(self, sentence: str, who: str = "") -> None:
        """Add `who` to the note `sentence`."""
        group = self._notes.setdefault(sentence, {})
        if who:
            group[who] = None

    def notes(self) -> tuple[str, ...]:
        """One line per sentence, with the first few it is true of and how many more."""
        lines = []
        for sentence, who in self._notes.items():
            names = list(who)
            more = len(names) - NAMES_IN_A_NOTE
            named = ", ".join(names[:NAMES_IN_A_NOTE]) + (f" and {more} more" if more > 0 else "")
            lines.append(f"{sentence}: {named}" if names else sentence)
        return tuple(lines)

    def raise_if_any(self, file_order: Collection[str]) -> None:
        """Raise TableFaults with every fault once, by file and row."""
        if not self.faults:
            return
        order = {file: place for place, file in enumerate(file_order)}
        unique = dict.fromkeys(self.faults)
        raise TableFaults(
            sorted(unique, key=lambda fault: (order.get(fault.file, -1), fault.row or 0))
        )
