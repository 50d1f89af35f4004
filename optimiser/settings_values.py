"""The plain values of cafe.toml: exact decimals, bounded in size and nesting."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from optimiser.table_faults import Findings
from optimiser.table_rows import Source
from optimiser.table_schema import SETTINGS_FILE

MAX_BYTES = 100_000
MAX_LINE = 1000
"""A dotted key costs tomllib memory by the square of its length."""

MAX_DEPTH = 8

_NOT_A_NUMBER = Decimal("NaN")


def load_toml(source: Source, findings: Findings) -> dict[str, Any] | None:
    """cafe.toml with Decimals for its fractions; None after a fault."""
    text = source.text(SETTINGS_FILE, findings, MAX_BYTES)
    if text is None:
        return None
    lines = text.split("\n")
    for number, content in enumerate(lines, 1):
        if len(content) > MAX_LINE:
            message = f"a line of more than {MAX_LINE} characters; break it"
            findings.fault(SETTINGS_FILE, number, f"character {MAX_LINE + 1}", content, message)
            return None
    try:
        tamed: dict[str, Any] = _tamed(tomllib.loads(text, parse_float=_exact))
        return tamed
    except RecursionError:
        findings.fault(SETTINGS_FILE, None, None, "", "nested too deeply; write it flat")
    except ValueError as error:
        place = re.search(r"\(at line (\d+), column (\d+)\)", str(error))
        message = re.sub(r"\s*\(at .*?\)$", "", str(error))
        line = int(place[1]) if place else None
        column = f"character {place[2]}" if place else None
        value = lines[line - 1].strip() if line and line <= len(lines) else ""
        findings.fault(SETTINGS_FILE, line, column, value, f"not valid TOML: {message}; mend it")
    return None


def plain(value: Any) -> Any:
    """The same settings with floats for Decimals."""
    if isinstance(value, dict):
        return {key: plain(part) for key, part in value.items()}
    if isinstance(value, list):
        return [plain(part) for part in value]
    return float(value) if isinstance(value, Decimal) else value


def text_of(value: Any) -> str:
    """A value as one would write it in a cell."""
    if isinstance(value, Decimal):
        return format(value, "f")
    return value.isoformat() if isinstance(value, date) else str(value)


def numbers_too_large(value: Any, place: str = "") -> Iterator[str]:
    """Dotted places of numbers that are no usable amounts: nan, inf, 1e999."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield from numbers_too_large(part, f"{place}.{key}" if place else key)
    elif isinstance(value, list):
        for count, part in enumerate(value, 1):
            yield from numbers_too_large(part, f"{place}.{count}")
    elif isinstance(value, Decimal) and not value.is_finite():
        yield place


def _exact(text: str) -> Decimal:
    """A decimal; NaN (which every check refuses) where it is none or absurdly large."""
    try:
        value = Decimal(text)
    except InvalidOperation:
        return _NOT_A_NUMBER
    return value if value.is_finite() and abs(value.adjusted()) < 30 else _NOT_A_NUMBER


def _tamed(value: Any, depth: int = 0) -> Any:
    """The same values; huge integers become NaN. Raises ValueError when nested too deeply."""
    if depth > MAX_DEPTH:
        raise ValueError("nested too deeply")
    if isinstance(value, dict):
        return {key: _tamed(part, depth + 1) for key, part in value.items()}
    if isinstance(value, list):
        return [_tamed(part, depth + 1) for part in value]
    if isinstance(value, int) and value.bit_length() > 64:
        return _NOT_A_NUMBER
    return value
