"""cafe.toml into checked settings: name, measures, calendar, courses, kitchen, money, rules."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime
from typing import Any

from pydantic import ValidationError

from optimiser import table_cells as cells
from optimiser.cafe import COMPONENT, WEEKDAYS, Cafe, Course, Kitchen, Money
from optimiser.food_code import CODES
from optimiser.formats import parse_locale
from optimiser.rules import RULE_CLASSES, Rule, parse_rule
from optimiser.settings_values import load_toml, numbers_too_large, plain, text_of
from optimiser.table_faults import Findings
from optimiser.table_rows import Source
from optimiser.table_schema import SETTINGS_FILE

KINDS = tuple(str(rule.model_fields["kind"].default) for rule in RULE_CLASSES)
TOP_KEYS = (
    "name",
    "currency",
    "locale",
    "regime",
    "cup_ml",
    "tbsp_ml",
    "open_days",
    "week",
    "plan_ahead_days",
    "courses",
    "plate",
    "kitchen",
    "money",
    "rules",
    "rules_off",
)
COURSE_KEYS = ("slots", "price", "take_up", "portion_g")
MINUTE_KEYS = ("hands_on_min", "oven_min", "hob_min", "processor_min")

_POSITIVE_ML = cells.number(1, 1000)
_MINUTES_A_DAY = cells.number(0, 10_000)


class Settings:
    """Reads values out of cafe.toml; `top` holds the fields of Cafe that are set there."""

    def __init__(self, source: Source, findings: Findings) -> None:
        self.findings = findings
        self.raw = load_toml(source, findings)
        self.complete = self.raw is not None
        self.rules: list[tuple[int, Rule]] = []
        self.rules_off: list[tuple[int, Rule]] = []
        self.top: dict[str, Any] = {"name": "", "courses": {}}
        if self.raw is None:
            return
        self._known_keys("", self.raw, TOP_KEYS)
        self._read_top(self.raw)
        self._read_courses(self._table(self.raw, "courses"))
        self._read_plate(self._table(self.raw, "plate"))
        self._read_kitchen(self._table(self.raw, "kitchen"))
        self._read_money(self._table(self.raw, "money"))
        self._read_rules("rules", self.rules)
        self._read_rules("rules_off", self.rules_off)

    def fault(self, key: str, value: Any, message: str) -> None:
        """A fault of one setting."""
        self.findings.fault(SETTINGS_FILE, None, key, text_of(value), message)

    def _read_top(self, raw: dict[str, Any]) -> None:
        one = {
            "name": (cells.text(200), None),
            "currency": (_currency, "AUD"),
            "locale": (_locale, None),
            "regime": (cells.choice(*CODES), None),
            "cup_ml": (_POSITIVE_ML, 250),
            "tbsp_ml": (_POSITIVE_ML, 20),
            "week": (cells.iso_date, None),
            "plan_ahead_days": (cells.whole_number(0, 28), 3),
        }
        for key, (parse, default) in one.items():
            if key in raw:
                value = self._value(key, raw[key], parse)
                if value is not None:
                    self.top[key] = value
            elif default is not None:
                self.findings.note(f"{SETTINGS_FILE}: {key} is not set; taken as {default}")
        if "name" not in raw:
            self.fault("name", "", "missing; add the name of the cafe")
        self._read_open_days(raw)

    def _read_open_days(self, raw: dict[str, Any]) -> None:
        if "open_days" not in raw:
            self.findings.note(f"{SETTINGS_FILE}: open_days is not set; taken as mon to sat")
            self.top["open_days"] = Cafe.model_fields["open_days"].default
            return
        days = raw["open_days"]
        if not isinstance(days, list) or not days:
            self.fault("open_days", days, 'write a list of weekdays, as ["mon", "tue"]')
            return
        found = [self._value("open_days", day, _weekday) for day in days]
        good = [day for day in found if day is not None]
        if len(set(good)) < len(good):
            self.fault("open_days", days, "a weekday is listed twice; keep one")
        if good:
            self.top["open_days"] = frozenset(good)

    def _read_courses(self, raw: dict[str, Any]) -> None:
        if not raw:
            self.complete = False
            self.fault("courses", "", "no courses; add [courses.<course>] with slots and price")
        parse: dict[str, cells.Parse] = {
            "slots": cells.whole_number(0, 50),
            "price": cells.cents,
            "take_up": cells.number(0, 10),
            "portion_g": cells.number(0, 10_000, above=True),
        }
        for course, settings in raw.items():
            place = f"courses.{course}"
            if not cells.SLUG.fullmatch(course) or course == COMPONENT:
                self.fault(place, course, f"not a course id; use a-z, 0-9, _ and not `{COMPONENT}`")
            if not isinstance(settings, dict):
                self.fault(place, settings, f"write it as a table [{place}]")
                continue
            self._known_keys(place, settings, COURSE_KEYS)
            found = {}
            for key in COURSE_KEYS:
                if key not in settings:
                    self.fault(f"{place}.{key}", "", "missing; add it")
                else:
                    found[key] = self._value(f"{place}.{key}", settings[key], parse[key])
            good = {key: value for key, value in found.items() if value is not None}
            # A course with a fault still names a course, so that dishes are not blamed.
            stand_in = {"slots": 0, "price": 0, "take_up": 0.0, "portion_g": 1.0} | good
            stand_in["price_cents"] = stand_in.pop("price")
            self.top["courses"][course] = Course(**stand_in)

    def _read_plate(self, raw: dict[str, Any]) -> None:
        courses = self.top["courses"]
        plate = {}
        for course, count in raw.items():
            if self.complete and course not in courses:
                hint = self.findings.nearest.hint("course", course, courses)
                self.fault(f"plate.{course}", course, f"not a course of this cafe{hint}")
            value = self._value(f"plate.{course}", count, cells.whole_number(0, 20))
            if value is not None:
                plate[course] = value
        self.top["plate"] = plate

    def _read_kitchen(self, raw: dict[str, Any]) -> None:
        self._known_keys("kitchen", raw, (*MINUTE_KEYS, "cook_ahead_days"))
        found: dict[str, Any] = {}
        for key in MINUTE_KEYS:
            if key in raw:
                found[key] = self._minutes(f"kitchen.{key}", raw[key])
        if "cook_ahead_days" in raw:
            place = "kitchen.cook_ahead_days"
            found["cook_ahead_days"] = self._value(
                place, raw["cook_ahead_days"], cells.whole_number(0, 6)
            )
        self.top["kitchen"] = Kitchen(**{k: v for k, v in found.items() if v is not None})

    def _minutes(self, place: str, raw: Any) -> tuple[float, ...] | None:
        """Minutes by weekday from one number or a table by weekday."""
        if not isinstance(raw, dict):
            value = self._value(place, raw, _MINUTES_A_DAY)
            return None if value is None else (value,) * len(WEEKDAYS)
        self._known_keys(place, raw, WEEKDAYS, strict=True)
        minutes = []
        for number, day in enumerate(WEEKDAYS):
            if day in raw:
                minutes.append(self._value(f"{place}.{day}", raw[day], _MINUTES_A_DAY))
                continue
            minutes.append(0.0)
            if number in self.top.get("open_days", range(6)):
                self.fault(f"{place}.{day}", "", "missing for an open day; add its minutes")
        return None if None in minutes else tuple(minutes)

    def _read_money(self, raw: dict[str, Any]) -> None:
        known = tuple(Money.model_fields)
        self._known_keys("money", raw, known)
        settings = {}
        for key in known:
            if key in raw:
                value = self._value(f"money.{key}", raw[key], cells.number(0, 1e9))
                if value is not None:
                    settings[key] = value
        try:
            self.top["money"] = Money(**settings)
        except ValidationError as error:
            for one in error.errors():
                key = ".".join(str(part) for part in one["loc"])
                self.fault(f"money.{key}", one["input"], f"{one['msg']}; change it")

    def _read_rules(self, where: str, rules: list[tuple[int, Rule]]) -> None:
        """The rules that count, or those switched off: in form, not whether they fit."""
        raw = (self.raw or {}).get(where, [])
        if not isinstance(raw, list) or not all(isinstance(rule, dict) for rule in raw):
            self.fault(where, raw, f"write each rule as a table [[{where}]] with a kind")
            return
        for count, settings in enumerate(raw, 1):
            too_large = list(numbers_too_large(settings))
            for key in too_large:
                self.fault(f"{where}.{count}.{key}", "", "not a usable number; change it")
            if too_large:
                continue
            try:
                rules.append((count, parse_rule(plain(settings))))
            except ValidationError as error:
                kind = text_of(settings.get("kind", ""))
                if kind not in KINDS:
                    hint = self.findings.nearest.hint("rule", kind, KINDS)
                    self.fault(f"{where}.{count}.kind", kind, f"no such kind of rule{hint}")
                    continue
                for one in error.errors():
                    key = ".".join(str(part) for part in one["loc"] if part != kind)
                    place = f"{where}.{count}.{key}" if key else f"{where}.{count}"
                    self.fault(place, one["input"], f"{one['msg']}; change the rule `{kind}`")

    def _table(self, raw: dict[str, Any], key: str) -> dict[str, Any]:
        found = raw.get(key, {})
        if isinstance(found, dict):
            return found
        self.fault(key, found, f"write it as a table [{key}]")
        return {}

    def _value(self, place: str, raw: Any, parse: Callable[[str], Any]) -> Any:
        """A single value, read by the same rules as a cell; None after a fault."""
        if isinstance(raw, bool | dict | list | datetime):
            self.fault(place, raw, "write one plain value")
            return None
        text = text_of(raw).strip()
        if not text:
            self.fault(place, text, "must not be blank; fill it in")
            return None
        try:
            return parse(text)
        except ValueError as error:
            self.fault(place, raw, str(error))
            return None

    def _known_keys(
        self, place: str, raw: dict[str, Any], known: tuple[str, ...], strict: bool = False
    ) -> None:
        """A fault for each key that looks mistyped; strangers are noted and ignored."""
        for key in raw:
            if key in known:
                continue
            full = f"{place}.{key}" if place else key
            hint = self.findings.nearest.hint(f"setting {place}", key, known)
            if hint or strict:
                self.fault(full, "", f"no such setting{hint or '; use ' + ', '.join(known)}")
            else:
                self.findings.note(f"{SETTINGS_FILE}: settings that mean nothing here", full)


def _currency(cell: str) -> str:
    if not re.fullmatch(r"[A-Z]{3}", cell):
        raise ValueError("not a currency; write its three-letter ISO 4217 code, as AUD")
    return cell


def _locale(cell: str) -> str:
    return str(parse_locale(cell))


def _weekday(cell: str) -> int:
    if cell.lower() not in WEEKDAYS:
        raise ValueError(f"not a weekday; use {', '.join(WEEKDAYS)}")
    return WEEKDAYS.index(cell.lower())
