"""`whatif` as a person meets it: texts, JSON and CSV that say what the functions say."""

from __future__ import annotations

import csv
import io
import json
import signal
from pathlib import Path
from typing import Any

import pytest

from optimiser import cli
from optimiser.answer import COLUMNS
from optimiser.changes import apply_all, parse_covers, parse_price, parse_short
from optimiser.document import folder_document
from optimiser.exposure import exposures
from optimiser.plan import read_plan
from optimiser.price_lines import breakpoints
from optimiser.report_base import money_text
from optimiser.store import Store
from optimiser.surplus import surplus_worth
from optimiser.verify import verify
from optimiser.what_if import compare
from optimiser.whatif_command import read_surplus
from tests.asked_cafe import Planned, more_dishes, planned_cafe
from tests.cafe_folder import write_folder
from tests.test_cli import hard_cafe, run, start


@pytest.fixture(scope="module")
def cafe(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    return planned_cafe(tmp_path_factory.mktemp("asked"))


Asked = tuple[int, str, str]


@pytest.fixture
def ask(cafe: Planned, capsys: pytest.CaptureFixture[str]):
    """Ask in this process, by default of the plan made: exit code, stdout, stderr."""

    def asked(*options: object, of: object = None, plan: bool = True) -> Asked:
        base = ("--from", cafe.file) if plan else ()
        place = cafe.folder if of is None else of
        code = cli.main(["whatif", *map(str, (place, *base, *options))])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return asked


def one(out: str) -> dict[str, Any]:
    """The only answer of a JSON output."""
    (answer,) = json.loads(out)["answers"]
    return answer


def flat(text: str) -> str:
    """Without line breaks, which depend on the width."""
    return " ".join(text.split())


# -- a change, the menu kept or changed -----------------------------------


def test_a_price_says_what_keeping_costs_and_that_no_change_is_better(ask, cafe: Planned):
    code, out, err = ask("--price", "spinach=+300%")
    found = compare(cafe.week, cafe.plan, [parse_price("spinach=+300%")])
    costs = money_text(found.keeping_costs_cents, "AUD")
    assert code == 0
    assert found.keeping_costs_cents > 0
    assert f"Menu kept: it earns {money_text(found.kept.objective_cents, 'AUD')}" in flat(out)
    assert f"{costs} less. Exact with this menu" in flat(out)
    assert "With up to 2 cooks changed nothing better was found." in flat(out)
    assert "Asked of" in out and "What if ..." in err and "What if ..." not in out


def test_guests_say_which_dishes_leave_and_enter_and_what_was_there_before(ask, cafe: Planned):
    code, out, _ = ask("--covers", "mon=+50%", "--cooks", 1)
    found = compare(cafe.week, cafe.plan, [parse_covers("mon=+50%")], cooks=1)
    step, before = found.steps[-1], found.steps_before[-1]
    assert code == 0 and step.enters
    assert f"in comes {step.enters[0].words()}; out goes {step.leaves[0].words()}." in flat(out)
    assert f"{money_text(step.gain_cents, 'AUD')} more than with the menu kept" in flat(out)
    assert f"would have brought {money_text(before.gain_cents, 'AUD')} even before" in flat(out)
    assert "up to 2 cooks" not in out


def test_json_holds_the_numbers_of_the_comparison_under_stable_keys(ask, cafe: Planned):
    code, out, _ = ask("--covers", "mon=+50%", "--form", "json")
    found = compare(cafe.week, cafe.plan, [parse_covers("mon=+50%")])
    body = json.loads(out)
    assert code == 0
    assert list(body) == [
        "schema", "verb", "cafe", "week", "days", "planned_on", "currency", "plan", "complete",
        "answers",
    ]  # fmt: skip
    assert body["plan"]["from"] == "file" and body["complete"] is True
    assert (body["week"], body["planned_on"]) == ("2026-11-30", "2026-11-27")
    answer = one(out)
    assert list(answer) == [
        "question", "about", "complete", "sentences", "changes", "before_cents", "kept_cents",
        "best_cents", "keeping_costs_cents", "changing_saves_cents", "steps", "steps_before",
        "why_not_kept", "mended", "purchases", "lots",
    ]  # fmt: skip
    assert answer["before_cents"] == found.before.objective_cents
    assert answer["kept_cents"] == found.kept.objective_cents
    assert answer["best_cents"] == found.best.objective_cents
    assert answer["keeping_costs_cents"] == found.keeping_costs_cents < 0
    assert answer["changing_saves_cents"] == pytest.approx(found.changing_saves_cents, abs=0.01)
    assert [step["cooks_changed"] for step in answer["steps"]] == [0, 1, 2]
    assert answer["steps"][2]["exact"] is found.steps[2].exact
    assert answer["steps"][1]["enters"][0]["dish"] == found.steps[1].enters[0].dish
    assert "cooks" not in answer  # plans go into files of their own


def test_csv_has_one_header_and_cells_that_no_spreadsheet_runs(ask, cafe: Planned):
    code, out, _ = ask("--short", "van@2026-11-30:quinoa", "--form", "csv", "--exposure")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert code == 0 and out.count("question,about") == 1
    assert tuple(rows[0]) == COLUMNS
    assert {row["question"] for row in rows} == {"change", "exposure"}
    coming = [row for row in rows if row["id"] == "leaf_salad"]
    assert {row["name"] for row in coming} == {"'=1+1 salad"}
    (before,) = [row for row in rows if row["row"] == "before"]
    assert before["money"] == f"{cafe.plan.objective_cents / 100:.2f}"


def test_a_menu_that_cannot_be_kept_says_why_and_the_nearest_week(ask, cafe: Planned):
    code, out, _ = ask("--short", "van@2026-11-30:quinoa", "--form", "json")
    change = parse_short("van@2026-11-30:quinoa", cafe.week)
    found = compare(cafe.week, cafe.plan, [change])
    answer = one(out)
    assert code == 0 and found.mended is not None
    assert (answer["kept_cents"], answer["steps"]) == (None, [])
    assert answer["why_not_kept"] == found.reason and "Quinoa" in found.reason
    mended = answer["mended"]
    assert (mended["objective_cents"], mended["cooks_changed"]) == (
        found.mended.objective_cents, found.mended_changes,
    )  # fmt: skip
    assert [one["dish"] for one in mended["enters"]] == ["leaf_salad"]
    assert [one["dish"] for one in mended["leaves"]] == ["quinoa_salad"]
    _, text, _ = ask("--short", "van@2026-11-30:quinoa")
    assert f"The menu cannot be kept: {found.reason}." in flat(text)
    assert "The nearest week found (one cook changed) earns" in flat(text)


def test_a_change_under_which_no_week_is_left_is_exit_3_with_what_would_do(ask):
    code, out, _ = ask("--minutes", "oven@mon=0", "--minutes", "hob@mon=0", "--form", "json")
    assert code == 3
    answer = one(out)
    assert answer["best_cents"] is None and answer["conflict"]["holds"] is False
    assert {rule["kind"] for rule in answer["conflict"]["rules"]} == {"station_minutes"}
    assert answer["conflict"]["repairs"][0]["changes"]
    code, text, _ = ask("--minutes", "oven@mon=0", "--minutes", "hob@mon=0")
    assert code == 3 and "No week keeps" in text and "oven minutes more on Mon" in flat(text)


def test_plans_are_written_verified_where_asked_and_named_in_the_json(
    ask, cafe: Planned, tmp_path: Path
):
    out_file, plans = tmp_path / "answer.json", tmp_path / "plans"
    options = ("--form", "json", "--out", out_file, "--plans", plans)
    code, out, err = ask("--covers", "mon=+50%", *options)
    assert (code, out) == (0, "") and f"Written to {out_file}." in err
    names = one(out_file.read_text(encoding="utf-8"))["plans"]
    assert sorted(names) == ["before", "best", "kept"]
    assert sorted(path.name for path in plans.iterdir()) == sorted(names.values())
    changed = apply_all(cafe.week, [parse_covers("mon=+50%")])
    for name, week in (("before", cafe.week), ("kept", changed), ("best", changed)):
        plan = read_plan(plans / names[name])
        assert plan.verified and verify(plan, week).passed
    assert not verify(read_plan(plans / names["best"]), cafe.week).passed


def test_several_changes_hold_together_and_names_do_for_ids(ask, cafe: Planned):
    code, out, _ = ask(
        "--price", "Spin=+10%", "--covers", "tue=+10%", "--stock", "Squash=2each,use-by 2026-12-20",
        "--form", "json", "--cooks", 0,
    )  # fmt: skip
    answer = one(out)
    assert code == 0
    assert [text.split(":")[0] for text in answer["changes"]] == [
        "Spinach", "Tuesdays", "More in stock",
    ]  # fmt: skip
    assert len(answer["steps"]) == len(answer["steps_before"]) == 1


# -- prices, exposure, worth ----------------------------------------------


def test_breakpoints_are_those_of_the_function(ask, cafe: Planned):
    code, out, _ = ask("--breakpoints", "squash", "--breakpoints", "Quinoa", "--form", "json")
    answers = json.loads(out)["answers"]
    assert code == 0 and [one["about"] for one in answers] == ["squash", "quinoa"]
    for answer in answers:
        found = breakpoints(cafe.week, cafe.plan, answer["about"])
        ends = [(piece.low, piece.high) for piece in found.pieces]
        assert [(piece["low"], piece["high"]) for piece in answer["pieces"]] == ends
        assert answer["safe_until"] == found.safe_until
    found = breakpoints(cafe.week, cafe.plan, "squash")
    _, text, _ = ask("--breakpoints", "squash")
    assert all(flat(sentence) in flat(text) for sentence in found.sentences("AUD"))


def test_exposure_ranks_what_the_plan_buys(ask, cafe: Planned):
    code, out, _ = ask("--exposure", "--form", "json")
    found = exposures(cafe.week, cafe.plan)
    assert code == 0
    asked = one(out)["ingredients"]
    assert [one["ingredient"] for one in asked] == [one.ingredient for one in found]
    assert {one["ingredient"] for one in asked} == {buy.ingredient for buy in cafe.plan.buys}
    for told, row in zip(asked, found, strict=True):
        assert told["loss_kept_cents"] == pytest.approx(row.loss_kept_cents, abs=0.01)
        assert told["usual_move_pct"] is None  # these tables hold no history of prices
    _, text, _ = ask("--exposure")
    assert found[0].name in text and money_text(found[0].loss_kept_cents, "AUD") in text


def test_more_in_stock_is_followed_to_the_last_gram(ask, cafe: Planned):
    lot = "squash=3each,use-by 2026-12-20"
    code, out, _ = ask("--stock", lot, "--form", "json", "--cooks", "1")
    answer = one(out)
    assert code == 0
    (kept,) = answer["lots"]["menu_kept"]
    assert (kept["lot"], kept["item"]) == ("extra-1", "squash")
    assert kept["uses"], "the menu kept has a use for it"
    used_g = sum(use["grams"] for use in kept["uses"])
    assert used_g + kept["left_g"] + kept["binned_g"] == pytest.approx(3 * 1500, abs=1)
    _, text, _ = ask("--stock", lot, "--cooks", "1")
    assert "goes, menu kept" in text
    _, table, _ = ask("--stock", lot, "--form", "csv", "--cooks", "1")
    rows = list(csv.DictReader(io.StringIO(table)))
    told = [row for row in rows if row["row"] == "lot_used" and row["note"] == "menu kept"]
    assert sum(float(row["amount"]) for row in told) == pytest.approx(used_g, abs=1)
    _, out, _ = ask("--price", "squash=+10%", "--form", "json", "--cooks", "1")
    assert one(out)["lots"]["menu_kept"] == []


def test_the_worth_of_a_surplus_is_told_unit_by_unit(ask, cafe: Planned):
    lot = "squash=3each,use-by 2026-12-20"
    code, out, _ = ask("--worth", lot, "--form", "json")
    surplus = read_surplus(cafe.week, lot)
    found = surplus_worth(cafe.week, cafe.plan, "squash", 1500.0, 3, surplus.lot.use_by)
    answer = one(out)
    assert code == 0 and answer["complete"] is True
    assert (answer["grams_each"], answer["unit"]) == (1500.0, "piece")
    assert len(answer["kept_cents"]) == 4 and answer["kept_cents"][0] == 0
    assert answer["kept_cents"] == pytest.approx(found.kept_cents, abs=0.01)
    assert answer["changed_cents"] == pytest.approx(found.changed_cents, abs=0.01)
    _, text, _ = ask("--worth", lot)
    assert f"+{money_text(found.next_unit(changed=False)[0], 'AUD')}" in text


@pytest.mark.parametrize(
    ("text", "grams_each", "units", "unit"),
    [
        ("squash=4each,use-by 2026-12-20", 1500, 4, "piece"),
        ("squash=30each,use-by 2026-12-20", 4500, 10, "3 pieces"),
        ("spinach=2500g,use-by 2026-12-02", 2500 / 3, 3, "0.833 kg"),
        ("spinach=300g,use-by 2026-12-02", 300, 1, "0.3 kg"),
        ("spinach=60kg,use-by 2026-12-02", 5000, 12, "5 kg"),
        ("cooked_quinoa=4portion,use-by 2026-12-01", 100, 4, "portion"),
    ],
)
def test_a_lot_is_cut_into_units_a_dozen_at_most(
    cafe: Planned, text: str, grams_each: float, units: int, unit: str
):
    found = read_surplus(cafe.week, text)
    assert (found.grams_each, found.units, found.unit) == (pytest.approx(grams_each), units, unit)


# -- bad input ------------------------------------------------------------


def test_every_fault_is_told_at_once_and_nothing_is_planned(ask, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("optimiser.base_plan.plan_week", lambda *_: pytest.fail("planned"))
    code, out, err = ask(
        "--price", "spinnach=+3%", "--stock", "stock-9=gone", "--breakpoints", "kale",
        "--breakpoints", "q", "--worth", "stock-1=gone",
        "--worth", "squash=1each,opened,use-by 2026-12-20", plan=False,
    )  # fmt: skip
    assert (code, out) == (2, "")
    lines = err.splitlines()
    assert len(lines) == 5, lines
    assert lines[0].startswith("--price 'spinnach=+3%': ") and "'spinach'" in lines[0]
    assert lines[1].startswith("--stock 'stock-9=gone': ")
    assert lines[2].startswith("--breakpoints kale: there is no such ingredient")
    assert lines[3].startswith("--worth 'stock-1=gone': a lot more is meant")
    assert lines[4].endswith("leave opened out")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ([], "nothing is asked"),
        (["--cooks", "1"], "nothing is asked"),
        (["--exposure", "--week", "2026-12-07"], "a plan of the week from Mon 2026-11-30"),
    ],
)
def test_what_cannot_be_asked_is_bad_input(ask, options: list[str], said: str):
    code, out, err = ask(*options)
    assert (code, out) == (2, "") and said in err


def test_a_place_that_cannot_be_written_to_is_told_before_any_work(ask, tmp_path: Path):
    code, out, err = ask("--exposure", "--out", tmp_path)
    assert (code, out) == (2, "") and "--out" in err and "is a directory" in err
    (tmp_path / "file").write_text("")
    code, _, err = ask("--exposure", "--plans", tmp_path / "file" / "plans")
    assert code == 2 and "--plans" in err and "What the week" not in err


def test_a_plan_that_cannot_be_cooked_any_more_is_bad_input(ask, cafe: Planned, tmp_path: Path):
    dish = cafe.plan.cooks[0].dish
    barred = more_dishes()["cafe"] + f'[[rules]]\nkind = "bar"\ndish = "{dish}"\n'
    other = write_folder(tmp_path / "barred", **{**more_dishes(), "cafe": barred})
    code, out, err = ask("--exposure", of=other)
    assert (code, out) == (2, "")
    assert f"--from {cafe.file}: this plan cannot be cooked as the tables are now" in err


def test_a_plan_of_another_cafe_is_bad_input(ask, cafe: Planned, tmp_path: Path):
    cooks = tuple(cook.model_copy(update={"dish": "no_such_dish"}) for cook in cafe.plan.cooks)
    shown = tuple(row.model_copy(update={"dish": "no_such_dish"}) for row in cafe.plan.shown)
    file = tmp_path / "other.json"
    file.write_text(cafe.plan.model_copy(update={"cooks": cooks, "shown": shown}).to_json())
    code, out, err = ask("--exposure", "--from", file, plan=False)
    assert (code, out) == (2, "")
    assert "cannot be cooked as the tables are now" in err and "no_such_dish" in err


# -- which plan is asked --------------------------------------------------


@pytest.fixture
def store(cafe: Planned, tmp_path: Path) -> Path:
    """A store with the cafe's tables and the plan kept."""
    place = tmp_path / "cafe.db"
    with Store.open(place, create=True) as opened:
        revision = opened.save(folder_document(cafe.folder), "test", "tables", None)
        opened.add_plan(cafe.plan, revision.id)
    return place


def test_a_store_is_asked_of_its_newest_kept_plan(ask, cafe: Planned, store: Path):
    code, out, err = ask("--exposure", "--form", "json", of=store, plan=False)
    plan = json.loads(out)["plan"]
    assert code == 0 and plan["from"] == "store"
    assert plan["objective_cents"] == cafe.plan.objective_cents
    assert "planning" not in err


def test_a_kept_plan_that_cannot_be_cooked_any_more_is_planned_again(
    ask, store: Path, tmp_path: Path
):
    barred = more_dishes()["cafe"] + '[[rules]]\nkind = "bar"\ndish = "quinoa_salad"\n'
    other = write_folder(tmp_path / "barred", **{**more_dishes(), "cafe": barred})
    with Store.open(store) as opened:
        head = opened.head()
        opened.save(folder_document(other), "test", "no quinoa salad", head.id)
    code, out, err = ask("--exposure", "--form", "json", "--seconds", 10, of=store, plan=False)
    assert code == 0 and json.loads(out)["plan"]["from"] == "planned"
    assert "Plan 1 of the store cannot be cooked any more: " in err and "planning Mon" in err


def test_without_a_plan_the_week_is_planned_first(ask, cafe: Planned):
    code, out, err = ask("--exposure", "--form", "json", "--seconds", 10, plan=False)
    plan = json.loads(out)["plan"]
    assert code == 0 and plan["from"] == "planned"
    assert plan["objective_cents"] >= cafe.plan.objective_cents - 1
    assert "There is no plan yet: planning Mon 2026-11-30 to Tue 2026-12-01" in err


def test_the_day_of_planning_is_the_plans_own(ask, cafe: Planned, tmp_path: Path):
    later = cafe.plan.model_copy(update={"planned_on": cafe.week.planned_on.replace(day=28)})
    file = tmp_path / "later.json"
    file.write_text(later.to_json())
    _, out, _ = ask("--exposure", "--form", "json", "--from", file, plan=False)
    assert json.loads(out)["planned_on"] == "2026-11-28"


# -- as a process ---------------------------------------------------------


def test_stdout_holds_nothing_but_the_answer(cafe: Planned, tmp_path: Path):
    options = ("--from", cafe.file, "--price", "squash=+10%", "--form", "json")
    code, out, err = run("whatif", cafe.folder, *options, at=tmp_path)
    assert code == 0 and err == "What if ...\n"
    assert json.loads(out)["answers"][0]["question"] == "change"


def test_ctrl_c_keeps_what_is_known_and_says_what_was_not_asked(tmp_path: Path):
    folder = hard_cafe(tmp_path / "cafe")
    assert run("plan", folder, "--work", 1, "--out", "made", at=tmp_path)[0] == 0
    options = ("--from", "made/plan.json", "--price", "tofu=+50%", "--cooks", 4, "--exposure")
    process = start("whatif", folder, *options, "--form", "json", at=tmp_path)
    assert process.stderr is not None
    assert process.stderr.readline() == "What if ...\n"
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=120)
    assert process.returncode == 1 and "Traceback" not in err
    assert "Stopping: what is known so far is kept." in err
    answers = json.loads(out)["answers"]
    assert [one["complete"] for one in answers] == [False, False]
    assert answers[1]["question"] == "unanswered" and answers[1]["why"] == "stopped before"
