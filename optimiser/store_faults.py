"""What can go wrong with a store, in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from optimiser.document_changes import Change

SHOWN_CHANGES = 40


class StoreFault(Exception):
    """A store cannot do what was asked; the message says why, and the mend."""


@dataclass(frozen=True)
class Revision:
    """One kept state of the tables. `parent`: the revision it was made from."""

    id: int
    parent: int | None
    who: str
    when: datetime
    message: str
    sha256: str

    def __str__(self) -> str:
        """Number, time, name and message."""
        said = f": {self.message}" if self.message else ""
        return f"revision {self.id}, {self.when:%Y-%m-%d %H:%M} UTC, {self.who}{said}"


class StaleSave(StoreFault):
    """The head is no longer the revision that a document was made from; nothing was saved.

    `meanwhile`: the revisions since, newest first. `changes`: from `parent` to `head`.
    """

    def __init__(
        self,
        parent: int | None,
        head: Revision | None,
        meanwhile: Sequence[Revision],
        changes: Sequence[Change],
    ) -> None:
        self.parent, self.head = parent, head
        self.meanwhile, self.changes = tuple(meanwhile), tuple(changes)
        super().__init__("\n".join(self._sentences()))

    def _sentences(self) -> list[str]:
        made_from = "no revision" if self.parent is None else f"revision {self.parent}"
        now = "there is none" if self.head is None else f"the newest is revision {self.head.id}"
        lines = [f"Nothing was saved: the tables were made from {made_from}, but {now}."]
        if self.meanwhile:
            lines += ["Meanwhile:", *(f"  {revision}" for revision in self.meanwhile)]
        elif self.head is not None:
            lines.append("Meanwhile somebody went back to it (undo or redo).")
        if self.changes:
            lines += [f"From {made_from} to revision {self.head.id if self.head else 'none'}:"]
            lines += change_lines(self.changes)
        return [*lines, "Take up these changes, then save again."]


def change_lines(changes: Sequence[Change]) -> list[str]:
    """The first changes as indented lines, and how many more there are."""
    lines = [f"  {change}" for change in changes[:SHOWN_CHANGES]]
    more = len(changes) - SHOWN_CHANGES
    return [*lines, f"  and {more} more."] if more > 0 else lines
