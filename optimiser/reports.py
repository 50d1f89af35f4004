"""All reports of a week as rows, and as files. A page, a sheet and a file show the same rows."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from optimiser.cafe import Cafe
from optimiser.cost_report import COST_COLUMNS, cost_rows
from optimiser.formats import written_as
from optimiser.label_report import LABEL_COLUMNS, label_rows
from optimiser.order_report import ORDER_COLUMNS, order_rows, orders
from optimiser.plan import Breach, Plan
from optimiser.prep_report import PREP_COLUMNS, prep_rows
from optimiser.report_base import Cell, Row, money_text
from optimiser.stock_report import USE_UP_COLUMNS, stock_fates, use_up_rows
from optimiser.week_report import WEEK_COLUMNS, days, week_rows

__all__ = [
    "REPORTS",
    "Cell",
    "Report",
    "Row",
    "cost_rows",
    "csv_files",
    "csv_text",
    "days",
    "file_names",
    "files",
    "label_rows",
    "money_text",
    "order_rows",
    "orders",
    "prep_rows",
    "stock_fates",
    "use_up_rows",
    "week_rows",
]


@dataclass(frozen=True)
class Report:
    """A report by name: its columns, and the rows of a plan. The file is `<name>.csv`."""

    name: str
    columns: tuple[str, ...]
    rows: Callable[[Plan, Cafe], list[Row]]


REPORTS = (
    Report("week", WEEK_COLUMNS, week_rows),
    Report("order", ORDER_COLUMNS, order_rows),
    Report("prep", PREP_COLUMNS, prep_rows),
    Report("labels", LABEL_COLUMNS, label_rows),
    Report("use_up", USE_UP_COLUMNS, use_up_rows),
    Report("costs", COST_COLUMNS, cost_rows),
)

SHEET_NAMES = ("week.xlsx", "week.pdf")
"""What is made of all reports together."""

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")


def file_names() -> tuple[str, ...]:
    """Names of everything that is written, in the order of writing."""
    return (*(f"{report.name}.csv" for report in REPORTS), *SHEET_NAMES, "plan.json")


def files(
    plan: Plan,
    cafe: Cafe,
    priced: Sequence[Breach] = (),
    only_near: int | None = None,
    stale: str = "",
) -> dict[str, str | bytes]:
    """File name -> text or bytes of everything that is written, in that order.

    The rest as in `sheets.contents`. Raises sheets.SheetFault.
    """
    from optimiser.sheets import contents, sheet_files  # these show what is here

    with written_as(cafe.locale):
        sheets = sheet_files(contents(plan, cafe, priced, only_near, stale))
    return {**csv_files(plan, cafe), **sheets, "plan.json": plan.to_json()}


def csv_files(plan: Plan, cafe: Cafe) -> dict[str, str]:
    """File name -> text of every report as CSV: days as YYYY-MM-DD, a point in numbers."""
    with written_as(None):
        return {
            f"{report.name}.csv": csv_text(report.columns, report.rows(plan, cafe))
            for report in REPORTS
        }


def csv_text(columns: tuple[str, ...], rows: Iterable[Row]) -> str:
    """Rows as CSV with a header. Raises ValueError on a column that is not listed.

    Lines end in CR LF: with LF alone the csv module leaves a lone CR unquoted.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({column: harmless(cell) for column, cell in row.items()})
    return out.getvalue()


def harmless(cell: Cell) -> Cell:
    """A cell that no spreadsheet takes for a formula: such texts get an apostrophe."""
    is_text = isinstance(cell, str) and cell.startswith(_FORMULA)
    return f"'{cell}" if is_text and not _NUMBER.fullmatch(str(cell)) else cell
