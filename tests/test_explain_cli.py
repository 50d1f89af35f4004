"""`explain` as a person meets it: whether the rules hold, why, why not, swaps, rules, weeks."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from optimiser import asked_of, base_plan, cli
from optimiser.explain import Conflict, conflict
from optimiser.explain_command import open_day, rules_meant
from optimiser.planner import Outcome
from optimiser.report_base import money_text
from optimiser.rule_prices import price_of_rule
from optimiser.swaps import swap_costs
from optimiser.why_not import why_here, why_not
from tests.asked_cafe import Planned, more_dishes, planned_cafe, week_of
from tests.cafe_folder import write_folder

MON, TUE = date(2026, 11, 30), date(2026, 12, 1)
CLASH = more_dishes()["cafe"] + (
    '[[rules]]\nkind = "bar"\ndish = "soup"\n[[rules]]\nkind = "pin"\ndish = "soup"\nday = "mon"\n'
)
"""A dish that must be there and must not."""

Asked = tuple[int, str, str]
Ask = Callable[..., Asked]


@pytest.fixture(scope="module")
def cafe(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    return planned_cafe(tmp_path_factory.mktemp("asked"))


@pytest.fixture
def ask(cafe: Planned, capsys: pytest.CaptureFixture[str]) -> Ask:
    """Ask in this process, of the plan made unless told otherwise: exit code, stdout, stderr."""

    def asked(*options: object, of: object = None, plan: bool = True) -> Asked:
        base = ("--from", cafe.file) if plan else ()
        place = cafe.folder if of is None else of
        code = cli.main(["explain", *map(str, (place, *base, *options))])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return asked


@pytest.fixture
def impossible(tmp_path: Path) -> Path:
    """A folder of which no week can be made."""
    return write_folder(tmp_path / "impossible", **{**more_dishes(), "cafe": CLASH})


def one(out: str) -> dict[str, Any]:
    """The only answer of a JSON output."""
    (answer,) = json.loads(out)["answers"]
    found: dict[str, Any] = answer
    return found


def flat(text: str) -> str:
    """Without line breaks, which depend on the width."""
    return " ".join(text.split())


# -- can the rules hold ---------------------------------------------------


def test_alone_it_says_that_a_week_exists_and_what_can_be_asked(ask: Ask, cafe: Planned) -> None:
    code, out, _ = ask(plan=False)
    assert code == 0
    assert "The rules can hold together: a week exists that keeps them all." in out
    assert "--why-not" in out and "--other-weeks" in out
    for rule in cafe.week.rules:
        assert rule.kind in out and flat(rule.describe(cafe.week.cafe))[:30] in flat(out)
    code, out, _ = ask("--form", "json", plan=False)
    found, asking = json.loads(out)["answers"]
    assert (code, found["question"], found["holds"]) == (0, "conflict", True)
    assert [rule["rule"] for rule in asking["rules"]] == [*range(1, len(cafe.week.rules) + 1)]
    assert {dish["dish"] for dish in asking["dishes"]} == {
        dish.id for dish in cafe.week.cafe.dishes.values() if dish.course in cafe.week.cafe.courses
    }


def test_rules_that_cannot_hold_are_exit_3_with_what_would_do(ask: Ask, impossible: Path) -> None:
    code, out, _ = ask("--form", "json", of=impossible, plan=False)
    found, answer = conflict(week_of(impossible)), one(out)
    assert code == 3 and answer["holds"] is False and answer["proven"] is True
    assert [rule["title"] for rule in answer["rules"]] == [part.title for part in found.rules]
    assert [rule["rule"] for rule in answer["rules"]] == [part.number + 1 for part in found.rules]
    assert [one["sentence"] for one in answer["repairs"]] == [r.sentence() for r in found.repairs]
    assert len(answer["repairs"]) >= 2
    for repair, made in zip(answer["repairs"], found.repairs, strict=True):
        assert repair["objective_cents"] == made.plan.objective_cents
    code, text, _ = ask(of=impossible, plan=False)
    assert code == 3 and all(flat(line) in flat(text) for line in found.sentences())
    assert money_text(found.repairs[0].plan.objective_cents, "AUD") in text
    code, table, _ = ask("--form", "csv", of=impossible, plan=False)
    rows = list(csv.DictReader(io.StringIO(table)))
    assert code == 3 and {row["row"] for row in rows} == {"holds", "rule", "repair"}


def test_a_question_about_an_impossible_week_is_exit_3_too(ask: Ask, impossible: Path) -> None:
    options = ("--why-not", "roast", "--seconds", 10)
    code, out, _ = ask(*options, of=impossible, plan=False)
    assert code == 3 and "No week keeps these rules together" in flat(out)


def test_what_time_left_open_is_exit_1(
    ask: Ask, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(base_plan, "plan_week", lambda *_: Outcome(None))
    monkeypatch.setattr(asked_of, "conflict", lambda *_: Conflict(None))
    code, out, _ = ask(plan=False)
    assert code == 1 and "The search ended before it was known" in flat(out)
    assert "Not answered to the end." in out
    code, out, err = ask("--why", "roast", plan=False)
    assert (code, out) == (1, "") and "No week was found in the time given" in err


# -- why, why not, swap ---------------------------------------------------


def test_why_says_what_the_week_would_lose(ask: Ask, cafe: Planned) -> None:
    code, out, _ = ask("--why", "Squash soup", "--form", "json")
    found, answer = why_here(cafe.week, cafe.plan, "soup"), one(out)
    assert code == 0 and (answer["question"], answer["about"]) == ("why", "soup")
    for told, step in zip(answer["without"], found.steps, strict=True):
        assert told["possible"] is (step is not None)
        if step is not None:
            assert told["gain_cents"] == pytest.approx(step.gain_cents, abs=0.01)
            assert told["objective_cents"] == step.plan.objective_cents
    assert any(step is not None and step.gain_cents < -100 for step in found.steps)
    _, text, _ = ask("--why", "Squash soup")
    assert all(flat(line) in flat(text) for line in found.sentences("AUD"))
    assert "xact" in text and "same deliveries" in flat(text)


@pytest.mark.parametrize(("on", "day"), [(None, None), ("tue", TUE), ("2026-12-01", TUE)])
def test_why_not_says_what_having_it_costs(
    ask: Ask, cafe: Planned, on: str | None, day: date | None
) -> None:
    when = () if on is None else ("--on", on)
    code, out, _ = ask("--why-not", "roast", *when, "--form", "json")
    found, answer = why_not(cafe.week, cafe.plan, "roast", day), one(out)
    assert code == 0 and answer["day"] == (None if day is None else day.isoformat())
    assert len(answer["with"]) == len(found.steps) == 3
    for told, step in zip(answer["with"], found.steps, strict=True):
        assert step is not None
        assert told["gain_cents"] == pytest.approx(step.gain_cents, abs=0.01)
        assert "roast" in {cook["dish"] for cook in told["enters"]}
    assert answer["portion_price_cents"] == found.portion_price_cents
    assert [entry["factor"] for entry in answer["entry_prices"]] == [
        entry.factor for entry in found.entry_prices
    ]
    gains = [told["gain_cents"] for told in answer["with"]]
    assert gains == sorted(gains)


def test_a_swap_lists_every_dish_by_what_it_costs(ask: Ask, cafe: Planned) -> None:
    code, out, _ = ask("--swap", "quinoa", "--on", "mon", "--form", "json")
    found, answer = swap_costs(cafe.week, cafe.plan, "quinoa_salad", MON), one(out)
    assert code == 0 and answer["cooked_on"] == "2026-11-30"
    assert [swap["dish"] for swap in answer["swaps"]] == [swap.dish for swap in found]
    assert len(found) >= 3 and found[0].gain_cents is not None
    assert answer["swaps"][0]["gain_cents"] == pytest.approx(found[0].gain_cents, abs=0.01)
    _, text, _ = ask("--swap", "quinoa", "--on", "mon")
    assert money_text(found[0].gain_cents, "AUD") in text and found[0].name in flat(text)
    _, table, _ = ask("--swap", "quinoa", "--on", "mon", "--form", "csv")
    names = {row["name"] for row in csv.DictReader(io.StringIO(table))}
    assert "'=1+1 salad" in names and "=1+1 salad" not in names


# -- what was typed -------------------------------------------------------


def test_every_fault_is_told_at_once_and_nothing_is_planned(
    ask: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(base_plan, "plan_week", lambda *_: pytest.fail("planned"))
    code, out, err = ask(
        "--why", "roost", "--why-not", "tofu", "--swap", "cooked_quinoa", "--on", "sunday",
        "--rule", "99", "--rule", "bahr", plan=False,
    )  # fmt: skip
    assert (code, out) == (2, "")
    lines = err.splitlines()
    assert len(lines) == 6, lines
    assert lines[0].startswith("--why roost: there is no such dish") and "roast" in lines[0]
    assert "several begin so" in lines[1] and "tofu_bowl (Tofu bowl)" in lines[1]
    assert lines[2].startswith("--swap cooked_quinoa: there is no such dish of the cabinet")
    assert lines[3].startswith("--on sunday: is no open day of this week: Mon 2026-11-30")
    assert lines[4].startswith("--rule 99: rules have the numbers 1 to ")
    assert lines[5].startswith("--rule there is no rule of this cafe of the kind 'bahr'")


def test_what_does_not_fit_the_plan_is_told_at_once(ask: Ask) -> None:
    code, out, err = ask(
        "--why", "roast", "--why-not", "soup", "--swap", "quinoa_salad", "--swap", "roast"
    )
    assert (code, out) == (2, "")
    lines = err.splitlines()
    assert lines[0] == "--why roast: Roast squash is not in this plan; ask --why-not"
    assert lines[1].startswith("--why-not soup: Squash soup is in this plan; ask --why")
    assert lines[2] == ("--swap quinoa_salad: give --on with one of Mon 2026-11-30, Tue 2026-12-01")
    assert lines[3] == "--swap roast: it is not in this plan"


def test_a_day_without_a_dish_is_bad_input(ask: Ask) -> None:
    code, _, err = ask("--why", "soup", "--on", "mon")
    assert code == 2 and "--on mon: say of which dish" in err


def test_a_day_is_a_date_or_a_weekday_that_comes_once(cafe: Planned) -> None:
    assert open_day(cafe.week, "TUE") == open_day(cafe.week, "2026-12-01") == TUE
    long = type(cafe.week)(cafe.week.cafe, cafe.week.rules, MON, cafe.week.planned_on, days=14)
    with pytest.raises(ValueError, match="comes more than once"):
        open_day(long, "tue")
    with pytest.raises(ValueError, match="is no open day"):
        open_day(cafe.week, "wed")


def test_a_rule_is_a_number_or_a_kind(cafe: Planned) -> None:
    kinds = [rule.kind for rule in cafe.week.rules]
    assert rules_meant(cafe.week, "1") == [0]
    minutes = [number for number, kind in enumerate(kinds) if kind == "station_minutes"]
    assert len(minutes) == 2 and rules_meant(cafe.week, "station_minutes") == minutes
    with pytest.raises(ValueError, match="the numbers 1 to"):
        rules_meant(cafe.week, "0")


# -- rules and weeks ------------------------------------------------------


def test_the_price_of_each_rule_is_told_and_ranked(ask: Ask, tmp_path: Path) -> None:
    bar = '[[rules]]\nkind = "bar"\ndish = "soup"\n'
    cafe = planned_cafe(tmp_path, cafe=more_dishes()["cafe"] + bar)
    options = ("--from", cafe.file, "--rules", "--each", 5, "--form", "json")
    code, out, _ = ask(*options, of=cafe.folder, plan=False)
    answers = json.loads(out)["answers"]
    *prices, ranking = answers
    assert code == 0
    assert [one["rule"] for one in prices] == [*range(1, len(cafe.week.rules) + 1)]
    for told in prices:
        found = price_of_rule(cafe.week, cafe.plan, told["rule"] - 1, 5.0)
        assert told["exact"] and found.exact
        assert told["low_cents"] == pytest.approx(found.low_cents, abs=0.01)
        assert told["high_cents"] == pytest.approx(found.high_cents, abs=0.01)
        assert told["sentences"] == [found.sentence] and told["low_cents"] >= 0
    lows = {one["rule"]: one["low_cents"] for one in prices}
    assert [lows[n] for n in ranking["order"]] == sorted(lows.values(), reverse=True)
    assert lows[1] > 100 and cafe.week.rules[0].kind == "bar"  # soup is the best of the mains


def test_one_rule_is_asked_by_its_number(ask: Ask, cafe: Planned) -> None:
    code, out, _ = ask("--rule", 1, "--each", 5)
    assert code == 0
    assert flat(price_of_rule(cafe.week, cafe.plan, 0, 5.0).sentence) in flat(out)
    assert "Rules by what they cost" not in out
