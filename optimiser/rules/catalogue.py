"""What there is to choose from: every kind of rule with its parameters, as plain words.

All of it is read from the classes themselves, so that a page, a help text and the
README never say anything else than the rules do.
"""

from __future__ import annotations

import inspect
import types
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MaxLen, MinLen
from pydantic.fields import FieldInfo

from optimiser.cafe import WEEKDAYS
from optimiser.rules import TOPICS
from optimiser.rules.base import HOUSE_RULE, Rule
from optimiser.rules.words import COURSE

SHARED = ("kind", "price_cents")
"""Fields that every rule has; what they mean is said once for all."""

UNITS: dict[str, str] = {
    "g": "g",
    "mg": "mg",
    "c": "°C",
    "cents": "cents",
    "days": "days",
    "l_per_kg": "l per kg",
    "litres": "litres",
    "mg_per_g": "mg per g",
    "min": "minutes",
    "months": "months",
    "pct": "%",
    "weeks": "weeks",
}
"""Ends of the names of numbers, after the last `_` or alone, and the unit they say."""

COUNTS = frozenset(
    ("colours", "cooks", "cuisines", "dishes", "groups", "methods", "pieces", "settings")
    + ("showings", "things")
)
"""Ends of the names of numbers that count things: plural nouns, without a unit."""

RATIOS = frozenset({"score"})
"""Ends of the names of numbers that compare two amounts of one unit."""

_WORDS: dict[Any, str] = {
    bool: "yes or no",
    int: "whole number",
    float: "number",
    str: "text",
    date: "date",
}


@dataclass(frozen=True)
class Limits:
    """What a parameter may be. `above`, `below`: the limit itself is not allowed;
    `fewest`, `most`: entries of a list."""

    low: float | None = None
    above: bool = False
    high: float | None = None
    below: bool = False
    choices: tuple[str, ...] = ()
    fewest: int | None = None
    most: int | None = None

    def words(self, unit: str = "") -> str:
        """`2 to 28 days`, `above 0, up to 100 %`, `` `week`, `day` ``; empty without limits."""
        found = [", ".join(f"`{choice}`" for choice in self.choices)] if self.choices else []
        if self.choices == WEEKDAYS:
            found = ["`mon` to `sun`"]
        if span := _span(self):
            found.append(f"{span} {unit}".strip())
        if self.most is not None:
            found.append(f"{self.fewest or 0} to {self.most} of them")
        return "; ".join(found)


@dataclass(frozen=True)
class Parameter:
    """One parameter of a rule. `unit` is empty for counts, ratios, names, dates and
    choices; None if a number's name says none."""

    name: str
    type: str
    number: bool
    unit: str | None
    default: str
    limits: Limits
    description: str


@dataclass(frozen=True)
class Entry:
    """One kind of rule. `sentence` says in general what it asks for."""

    topic: str
    kind: str
    title: str
    sentence: str
    parameters: tuple[Parameter, ...]
    unit: str
    source: str
    kept: str
    broken: str


def entries() -> tuple[Entry, ...]:
    """Every kind of rule, topic by topic."""
    return tuple(entry(rule, topic) for topic, rules in TOPICS.items() for rule in rules)


def entry(rule: type[Rule], topic: str) -> Entry:
    """What there is to know of one class."""
    return Entry(
        topic=topic,
        kind=str(rule.model_fields["kind"].default),
        title=rule.title,
        sentence=sentence(rule),
        parameters=parameters(rule),
        unit=rule.unit,
        source=rule.source,
        kept=rule.kept,
        broken=rule.broken,
    )


def sentence(rule: type[Rule]) -> str:
    """The first lines of the class's own docstring, up to the first blank one."""
    own = inspect.cleandoc(vars(rule).get("__doc__") or "")
    return " ".join(own.split("\n\n", 1)[0].split())


def parameters(rule: type[Rule]) -> tuple[Parameter, ...]:
    """The parameters of a class, without those that all rules share."""
    fields = rule.model_fields.items()
    return tuple(_parameter(name, field) for name, field in fields if name not in SHARED)


def unit_of(name: str) -> str | None:
    """The unit that a number's name says; empty for counts and ratios, None if it says nothing."""
    words = name.split("_")
    for first in range(len(words)):
        end = "_".join(words[first:])
        if end in UNITS:
            return UNITS[end]
    return "" if words[-1] in COUNTS | RATIOS else None


def _parameter(name: str, field: FieldInfo) -> Parameter:
    kinds = list(plain_kinds(field.annotation))
    number = bool({int, float} & set(kinds))
    type_ = _type_words(field.annotation)
    return Parameter(
        name=name,
        type=type_,
        number=number,
        unit=unit_of(name) if number else "",
        default="required"
        if field.is_required()
        else _value(field.get_default(call_default_factory=True)),
        limits=_limits(
            [*_inner_limits(field.annotation), *field.metadata], kinds, type_.startswith("list")
        ),
        description=field.description or "",
    )


def plain_kinds(annotation: Any) -> Iterable[Any]:
    """The plain types and choices inside an annotation, None left out."""
    origin = get_origin(annotation)
    if origin is Literal or origin is None:
        return () if annotation in (type(None), Ellipsis) else (annotation,)
    inside = get_args(annotation)[:1] if origin is Annotated else get_args(annotation)
    return tuple(kind for one in inside for kind in plain_kinds(one))


def _inner_limits(annotation: Any) -> list[Any]:
    """Limits written inside an annotation: of the entries of a list, for one."""
    if get_origin(annotation) is Literal:
        return []
    found = list(annotation.__metadata__) if get_origin(annotation) is Annotated else []
    for inside in get_args(annotation):
        found += _inner_limits(inside)
    return [limit for one in found for limit in getattr(one, "metadata", [one])]


def _limits(found: list[Any], kinds: list[Any], is_list: bool) -> Limits:
    choices = [str(c) for one in kinds if get_origin(one) is Literal for c in get_args(one)]
    known: dict[str, Any] = {"choices": tuple(choices)}
    for limit in found:
        if isinstance(limit, Ge):
            known["low"] = limit.ge
        elif isinstance(limit, Gt):
            known |= {"low": limit.gt, "above": True}
        elif isinstance(limit, Le):
            known["high"] = limit.le
        elif isinstance(limit, Lt):
            known |= {"high": limit.lt, "below": True}
        elif isinstance(limit, MinLen) and is_list:
            known["fewest"] = limit.min_length
        elif isinstance(limit, MaxLen) and is_list:
            known["most"] = limit.max_length
    return Limits(**known)


def _type_words(annotation: Any) -> str:
    """`number`, `text or blank`, `list of text`, `date or one of the choices`."""
    origin, inside = get_origin(annotation), get_args(annotation)
    if annotation is type(None):
        return "blank"
    if origin is Literal:
        return "choice"
    if origin is Annotated:
        return _type_words(inside[0])
    if origin in (Union, types.UnionType):
        return " or ".join(_type_words(one) for one in inside)
    if origin in (tuple, frozenset, list):
        return f"list of {_type_words(inside[0])}"
    if origin is dict:
        return f"table of {_type_words(inside[1])} by {_type_words(inside[0])}"
    return _WORDS.get(annotation, str(annotation))


def _value(value: Any) -> str:
    """A default as a person writes it."""
    if value is None:
        return "blank"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number(value)
    if isinstance(value, tuple | frozenset | list):
        return ", ".join(_value(one) for one in value) or "none"
    if isinstance(value, dict):
        return ", ".join(f"{_value(k)} {_value(v)}" for k, v in value.items()) or "none"
    return f"`{value}`"


def _number(value: float) -> str:
    """A number without needless digits, as it is written in a file."""
    return f"{value:.10g}" if abs(value) < 10_000 else f"{value:,.10g}"


def _span(limits: Limits) -> str:
    """`2 to 28`, `above 0, up to 100`."""
    low = None if limits.low is None else _number(limits.low)
    high = None if limits.high is None else _number(limits.high)
    if low is not None and high is not None and not limits.above and not limits.below:
        return f"{low} to {high}"
    ends = []
    if low is not None:
        ends.append(f"above {low}" if limits.above else f"from {low}")
    if high is not None:
        ends.append(f"below {high}" if limits.below else f"up to {high}")
    return ", ".join(ends)


# -- the README's section -------------------------------------------------


def markdown() -> str:
    """All kinds by topic: what each asks, how it is counted, its parameters."""
    every = entries()
    blocks = []
    for topic in (topic for topic, rules in TOPICS.items() if rules):
        kinds = [_block(one) for one in every if one.topic == topic]
        blocks.append("\n".join([f"### {topic}", "", *kinds]))
    return "\n\n".join(blocks) + "\n"


def _block(one: Entry) -> str:
    source = "" if one.source == HOUSE_RULE else f" Source: {one.source.rstrip('.')}."
    lines = [
        f"- **`{one.kind}`** {one.sentence} Unit: {one.unit}.",
        f"  Good: {one.kept}. Bad: {one.broken}.{source}",
    ]
    return "\n".join([*lines, *(f"  - {_line(parameter)}" for parameter in one.parameters)])


def _line(parameter: Parameter) -> str:
    facts = [parameter.default, parameter.limits.words(parameter.unit or "")]
    said = f"`{parameter.name}` ({'; '.join(fact for fact in facts if fact)})"
    return said if parameter.description == COURSE else f"{said}: {parameter.description}"
