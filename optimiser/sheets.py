"""What the printable `week.pdf` and the spreadsheet `week.xlsx` are made of, and both as bytes.

Every number in them is a cell of a report (`reports.REPORTS`) or of `week_report.days`;
the sentences are those of the terminal. Nothing is worked out here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from optimiser.board_words import sections
from optimiser.cafe import Cafe
from optimiser.food_code import CODES
from optimiser.plan import Breach, Plan
from optimiser.report_base import Row, day_text
from optimiser.reports import REPORTS, SHEET_NAMES
from optimiser.week import open_dates
from optimiser.week_board import bound_sentence
from optimiser.week_report import Day, days


class SheetFault(Exception):
    """A file that cannot be made; the message names it and says why, in one sentence."""


@dataclass(frozen=True)
class Table:
    """A report: its columns and its rows."""

    name: str
    columns: tuple[str, ...]
    rows: list[Row]


@dataclass(frozen=True)
class Contents:
    """All that a sheet shows. `bound` says how good the week is, in money; `broken` are
    the rules broken for their price, `care` what to watch, `holding` what of it is about
    heat, cold and time; `stale` says so where the tables
    have changed since."""

    title: str
    cafe: str
    currency: str
    planned_on: date
    bound: str
    broken: tuple[str, ...]
    care: tuple[str, ...]
    holding: tuple[str, ...]
    days: tuple[Day, ...]
    tables: Mapping[str, Table]
    stale: str = ""

    def rows(self, name: str, **cells: str) -> list[Row]:
        """The rows of a report, of those that have these cells."""
        wanted = cells.items()
        return [row for row in self.tables[name].rows if wanted <= row.items()]


SERVE_NOTHING = "Serve nothing after its use-by date."


def contents(
    plan: Plan,
    cafe: Cafe,
    priced: Sequence[Breach] = (),
    only_near: int | None = None,
    stale: str = "",
) -> Contents:
    """What the sheets of a verified plan show; `priced` and `only_near` as in `print_week`.
    Days and numbers within texts are written as holds here (`formats.written_as`).

    `stale`: a sentence saying that the tables have changed since; the bound of the plan is
    one for the tables it was made of, so the sentence stands in its place too.
    """
    dates = open_dates(cafe, plan.week, plan.days)
    said = dict(sections(plan, cafe, priced))
    holding = (*CODES[cafe.regime].sentences, SERVE_NOTHING)
    return Contents(
        title=f"{cafe.name}: {day_text(dates[0])} to {day_text(dates[-1])}",
        cafe=cafe.name,
        currency=plan.currency,
        planned_on=plan.planned_on,
        bound=stale or bound_sentence(plan, only_near),
        broken=tuple(said.get("Rules broken for their price", ())),
        care=(*([stale] if stale else ()), *said["Take care"], *holding),
        holding=holding,
        days=tuple(days(plan, cafe)),
        tables={
            report.name: Table(report.name, report.columns, report.rows(plan, cafe))
            for report in REPORTS
        },
        stale=stale,
    )


def sheet_files(shown: Contents) -> dict[str, bytes]:
    """File name -> bytes. Raises SheetFault."""
    from optimiser.sheets_pdf import pdf  # these two load what writes the files:
    from optimiser.sheets_xlsx import xlsx  # not for a command that ends without a week

    makers = dict(zip(SHEET_NAMES, (xlsx, pdf), strict=True))
    return {name: _made(name, make, shown) for name, make in makers.items()}


def _made(name: str, make: Callable[[Contents], bytes], shown: Contents) -> bytes:
    try:
        return make(shown)
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a panic inside the typesetter is no Exception
        reason = " ".join(str(error).split()) or type(error).__name__
        raise SheetFault(f"{name} cannot be made: {reason}") from error
