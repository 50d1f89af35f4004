"""The rules as somebody is changing them, before anything is saved."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from optimiser.cafe import Cafe
from optimiser.rules import Rule

MOST_EDITS = 3
"""More than these are counted, not named, in the message of a save."""


@dataclass(frozen=True)
class Entry:
    """One rule of a draft. `was`: the rule as saved, None for a new one; `was_on`: whether
    it counted."""

    key: int
    rule: Rule
    on: bool = True
    was: Rule | None = None
    was_on: bool = True

    @property
    def changed(self) -> bool:
        """Whether it differs from what is saved."""
        return (self.rule, self.on) != (self.was, self.was_on)


@dataclass(frozen=True)
class Draft:
    """Entries in their order, those switched off included; `gone`: rules taken out."""

    entries: tuple[Entry, ...]
    gone: tuple[Rule, ...] = ()
    next_key: int = 0

    @classmethod
    def of(cls, on: Iterable[Rule], off: Iterable[Rule]) -> Draft:
        """What is saved, nothing changed yet."""
        saved = [*((rule, True) for rule in on), *((rule, False) for rule in off)]
        entries = tuple(Entry(key, rule, on, rule, on) for key, (rule, on) in enumerate(saved))
        return cls(entries, (), len(entries))

    @property
    def on(self) -> tuple[Rule, ...]:
        """The rules that count."""
        return tuple(one.rule for one in self.entries if one.on)

    @property
    def off(self) -> tuple[Rule, ...]:
        """The rules switched off."""
        return tuple(one.rule for one in self.entries if not one.on)

    @property
    def dirty(self) -> bool:
        """Whether anything differs from what is saved."""
        return bool(self.gone) or any(one.changed for one in self.entries)

    def entry(self, key: int) -> Entry | None:
        """The entry of a key; None if it was taken out."""
        return next((one for one in self.entries if one.key == key), None)

    def with_rule(self, key: int, rule: Rule) -> Draft:
        """One rule said otherwise."""
        return self._with(key, lambda one: replace(one, rule=rule))

    def switched(self, key: int) -> Draft:
        """One rule switched off, or on again."""
        return self._with(key, lambda one: replace(one, on=not one.on))

    def without(self, key: int) -> Draft:
        """One rule taken out."""
        gone = self.entry(key)
        left = tuple(one for one in self.entries if one.key != key)
        lost = () if gone is None or gone.was is None else (gone.was,)
        return replace(self, entries=left, gone=(*self.gone, *lost))

    def with_new(self, rule: Rule) -> Draft:
        """One rule more, at the end."""
        new = Entry(self.next_key, rule)
        return replace(self, entries=(*self.entries, new), next_key=self.next_key + 1)

    def edits(self, cafe: Cafe) -> list[str]:
        """What differs from what is saved, a sentence for each rule."""
        return [
            *(_edit(one, cafe) for one in self.entries if one.changed),
            *(f"Taken out: {said(rule, cafe)}" for rule in self.gone),
        ]

    def message(self) -> str:
        """What a save is called in the history."""
        words = [f"{_verb(one)} {one.rule.title!r}" for one in self.entries if one.changed]
        words += [f"without {rule.title!r}" for rule in self.gone]
        more = len(words) - MOST_EDITS
        return "Rules: " + ", ".join(words[:MOST_EDITS]) + (f" and {more} more" if more > 0 else "")

    def _with(self, key: int, change: Callable[[Entry], Entry]) -> Draft:
        entries = tuple(change(one) if one.key == key else one for one in self.entries)
        return replace(self, entries=entries)


def said(rule: Rule, cafe: Cafe) -> str:
    """A rule as a sentence, with its price; its title where it does not fit the cafe."""
    if rule.faults(cafe):
        return f"{rule.title}."
    return rule.describe(cafe)


def _verb(one: Entry) -> str:
    if one.was is None:
        return "new"
    if one.on != one.was_on:
        return "on again" if one.on else "off"
    return "changed"


def _edit(one: Entry, cafe: Cafe) -> str:
    now = said(one.rule, cafe)
    if one.was is None:
        return f"New: {now}"
    if one.on != one.was_on:
        return f"{'On again' if one.on else 'Off'}: {now}"
    before = said(one.was, cafe)
    if before == now:
        return f"{_hardness(one.rule)} now: {now}"
    return f"{before} → {now}"


def _hardness(rule: Rule) -> str:
    return "Hard" if rule.price_cents is None else "With another price"
