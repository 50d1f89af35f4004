"""The parameters of a rule as fields of a form, drawn from its class and the cafe's own names."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Literal, get_args, get_origin

from pydantic import ValidationError

from optimiser.allergens import ALL_ALLERGENS, DIET_BREAKERS
from optimiser.amino import ACID_WORDS, PATTERN_WORDS
from optimiser.cafe import WEEKDAYS, Cafe
from optimiser.report_base import day_text
from optimiser.rules import Rule, parse_rule
from optimiser.rules.base import sold_dishes
from optimiser.rules.catalogue import Parameter, parameters, plain_kinds
from optimiser.rules.diets import GROUPS
from optimiser.rules.pins import FULL_NAMES
from optimiser.rules.stock import ANY
from optimiser.rules.traits import Trait, book
from optimiser.week import Week

Shape = Literal["whole", "number", "money", "yes_no", "one_of", "several", "date"]
"""What a field is drawn as. Money is kept in cents."""

DAYS_AHEAD = 28
"""Dates offered from the first day of the week on."""

LABELS = {"by": "Counted", "lot": "One lot only"}
"""Where a description does not begin with what a field is called."""

CHOICE_WORDS = {**ACID_WORDS, **PATTERN_WORDS}

BLANK = "blank = "
"""What a description says of a value left out."""


@dataclass(frozen=True)
class FormField:
    """One field. `options`: values with their words, for `one_of` and `several`;
    `optional`: may be blank (None), which means `blank`."""

    name: str
    label: str
    help: str
    shape: Shape
    options: Mapping[Any, str]
    low: float | None
    high: float | None
    optional: bool
    blank: str
    default: Any
    """None where one has to be given."""


def form_fields(rule: type[Rule], week: Week, values: Mapping[str, Any]) -> tuple[FormField, ...]:
    """The fields of a rule. `values`: those it has, offered even if the cafe knows them no more."""
    return tuple(_field(rule, one, week, values.get(one.name)) for one in parameters(rule))


def _field(rule: type[Rule], one: Parameter, week: Week, value: Any) -> FormField:
    about = rule.model_fields[one.name]
    shape = _shape(one, about.annotation)
    blank = _after(one.description, BLANK)
    optional = type(None) in get_args(about.annotation)
    options = _options(one, week, optional, blank) if shape in ("one_of", "several") else {}
    gone = value if isinstance(value, tuple) else (value,)
    known = {**options, **{v: f"{v} (not there)" for v in gone if v not in options}}
    return FormField(
        name=one.name,
        label=_label(one, shape),
        help=_help(one, shape),
        shape=shape,
        options=known if options and value not in (None, ()) else options,
        low=one.limits.low,
        high=one.limits.high,
        optional=optional,
        blank=blank,
        default=None if about.is_required() else about.get_default(call_default_factory=True),
    )


def _shape(one: Parameter, annotation: Any) -> Shape:
    kinds = plain_kinds(annotation)
    if get_origin(annotation) is tuple:
        return "several"
    if bool in kinds:
        return "yes_no"
    if one.number and one.name.endswith("_cents"):
        return "money"
    if one.number:
        return "whole" if int in kinds else "number"
    return "date" if tuple(kinds) == (date,) else "one_of"


# -- words -------------------------------------------------------------------


def _label(one: Parameter, shape: Shape) -> str:
    """`Grams of protein in a portion, at least`: the first words of the description."""
    first = one.description.removeprefix("yes: ") if shape == "yes_no" else one.description
    first = re.split(r";|:|, `", first)[0]
    if first.startswith(("date", BLANK, *one.limits.choices)):
        first = one.name.replace("_", " ")
    for start in ("ids of the ", "id of the ", "name of an ", "cents of "):
        first = first.removeprefix(start)
    return LABELS.get(one.name, first[:1].upper() + first[1:])


def _help(one: Parameter, shape: Shape) -> str:
    """The whole description, and the limits of a number. Money is limited in cents in the
    class, so that its limits are not repeated here."""
    limits = one.limits.words(one.unit or "") if shape in ("whole", "number") else ""
    text = one.description + (f" ({limits})" if limits else "")
    return text[:1].upper() + text[1:] + "."


def _after(text: str, start: str) -> str:
    return text.partition(start)[2].split(";")[0].strip()


def _words(name: str) -> str:
    """`dark_green` as `dark green`."""
    return name.replace("_", " ")


# -- what there is to choose from ----------------------------------------------


def _options(one: Parameter, week: Week, optional: bool, blank: str) -> dict[Any, str]:
    found: dict[Any, str] = {None: blank or "none"} if optional else {}
    if one.limits.choices:
        found.update({choice: _choice(choice, one) for choice in one.limits.choices})
        if one.type.startswith("date"):
            days = (week.start + timedelta(days=n) for n in range(DAYS_AHEAD))
            found.update({day: day_text(day) for day in days})
        return found
    found.update(_names(one, week.cafe))
    return found


def _choice(choice: str, one: Parameter) -> str:
    """A choice in words, with what the description says of it: `week: all cooks together`."""
    if choice in WEEKDAYS:
        return f"every {FULL_NAMES[WEEKDAYS.index(choice)]}"
    if choice in CHOICE_WORDS:
        return CHOICE_WORDS[choice]
    said = re.search(rf"\b{choice}: ([^;,]+)", one.description)
    return f"{_words(choice)}: {said[1]}" if said else _words(choice)


def _names(one: Parameter, cafe: Cafe) -> dict[Any, str]:
    """Things of the cafe that a parameter can name, by what the parameter is called."""
    match one.name:
        case "course":
            return {course: _words(course) for course in cafe.courses}
        case "dish" | "dishes" | "a" | "b" | "needs":
            return _sorted({dish.id: dish.name for dish in sold_dishes(cafe)})
        case "supplier":
            return _sorted({one.id: one.name for one in cafe.suppliers.values()})
        case "lot":
            return {lot.id: _lot_words(cafe, lot.id) for lot in cafe.stock}
        case "item":
            return _items(cafe, with_all=one.default.strip("`") == ANY)
        case "allergen":
            return _sorted({name: _words(name) for name in {*ALL_ALLERGENS, *GROUPS}})
        case "diets":
            return _sorted({diet: _words(diet) for diet in DIET_BREAKERS})
        case "texture" | "method":
            return _traits(cafe, one.name)
    raise ValueError(f"nobody knows what to offer for {one.name!r}")


def _traits(cafe: Cafe, trait: Trait) -> dict[Any, str]:
    words = {word for word in book(cafe, None, trait).values() if word}
    return {word: word for word in sorted(words)}


def _items(cafe: Cafe, with_all: bool) -> dict[Any, str]:
    """Ingredients; what is in stock first, and cooked parts too, where stock is meant."""
    names = {one.id: one.name for one in cafe.ingredients.values()}
    if not with_all:
        return _sorted(names)
    names = _sorted(names | {dish.id: dish.name for dish in cafe.dishes.values()})
    stock = {lot.item for lot in cafe.stock}
    first = {id: name for id, name in names.items() if id in stock}
    return {ANY: "everything in stock", **first, **names}


def _lot_words(cafe: Cafe, lot_id: str) -> str:
    lot = next(lot for lot in cafe.stock if lot.id == lot_id)
    until = f", use by {day_text(lot.use_by)}" if lot.use_by else ""
    return f"{cafe.name_of(lot.item)}, {lot.qty:g} {lot.unit}{until} ({lot.id})"


def _sorted(names: dict[Any, str]) -> dict[Any, str]:
    """By name; two things of one name are told apart by their ids."""
    times = Counter(names.values())
    told = {id: name if times[name] == 1 else f"{name} ({id})" for id, name in names.items()}
    return dict(sorted(told.items(), key=lambda one: one[1].casefold()))


# -- from values to a rule -----------------------------------------------------


def rule_of(
    kind: type[Rule], values: Mapping[str, Any], fields: Iterable[FormField], cafe: Cafe
) -> tuple[Rule | None, list[str]]:
    """The rule that a form says, and what is wrong with it. One that only does not fit the
    cafe is returned beside its faults."""
    labels = {one.name: one.label for one in fields} | {"price_cents": "Price"}
    missing = [
        labels[name]
        for name, about in kind.model_fields.items()
        if about.is_required() and values.get(name) in (None, ())
    ]
    if missing:
        return None, [f"Still to fill in: {', '.join(missing)}."]
    try:
        rule = parse_rule({"kind": kind.model_fields["kind"].default, **values})
    except ValidationError as error:
        return None, [_fault(one["loc"], one["msg"], labels) for one in error.errors()]
    return rule, rule.faults(cafe)


def _fault(place: tuple[int | str, ...], message: str, labels: Mapping[str, str]) -> str:
    said = message.removeprefix("Value error, ").replace("Input should", "must")
    label = next((labels[str(part)] for part in place if part in labels), "")
    return f"{label}: {said}." if label else f"{said[:1].upper()}{said[1:]}."
