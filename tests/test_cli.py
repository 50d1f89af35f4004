"""The command line as a person meets it: a process, its two streams, its exit code."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from optimiser import cli, plan_command
from optimiser.plan import Breach, read_plan
from optimiser.planner import Outcome
from optimiser.progress import Progress
from optimiser.reports import file_names
from optimiser.rules import default_rules
from optimiser.tables import read_folder
from optimiser.verify import verify
from optimiser.week import Week
from tests.cafe_folder import FILES, edited, write_folder

ROOT = Path(__file__).resolve().parents[1]
LITTLE_STOCK = "item,qty,unit,use_by,state\nsquash,3,each,2026-12-20,whole\n"
PIN = '\n[[rules]]\nkind = "pin"\ndish = "soup"\nday = "mon"\n'


def start(*arguments: object, at: Path, **options: object) -> subprocess.Popen[str]:
    """The command line as a process of its own."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "NO_COLOR": "1", "COLUMNS": "80"}
    return subprocess.Popen(
        [sys.executable, "-m", "optimiser", *map(str, arguments)],
        cwd=at,
        env=environment,
        text=True,
        stdout=subprocess.PIPE,
        **{"stderr": subprocess.PIPE, **options},  # type: ignore[call-overload]
    )


def run(*arguments: object, at: Path) -> tuple[int, str, str]:
    """Exit code, stdout, stderr. Whatever happens, no traceback."""
    process = start(*arguments, at=at)
    out, err = process.communicate(timeout=120)
    assert "Traceback" not in err
    return process.returncode, out, err


def easy_cafe(path: Path, **files: str | None) -> Path:
    """A folder planned in a moment."""
    return write_folder(path, **{"stock": LITTLE_STOCK, **files})


def hard_cafe(path: Path) -> Path:
    """A folder with so many dishes that nobody proves its week best in a minute."""
    dishes, lines = FILES["dishes"], FILES["recipe_lines"]
    for n in range(14):
        dishes += f"salad_{n},Salad {n},salad,10,150,5,5,40,2,10,{5 + n},,,,1.{n},,raw,cold,,,,\n"
        dishes += f"main_{n},Main {n},main,10,300,5,5,60,3,15,{4 + n},,,,1.{n},,baked,hot,,,,\n"
        lines += (
            f"salad_{n},spinach,{0.3 + n / 40},kg,,yes,\nsalad_{n},tofu,{1 + n / 7},each,,yes,\n"
        )
        lines += f"main_{n},squash,{1 + n / 9},each,,yes,\nmain_{n},tofu,{3 - n / 9},each,,yes,\n"
    cafe = FILES["cafe"].replace('["mon", "tue"]', '["mon", "tue", "wed", "thu", "fri"]')
    cafe = cafe.replace("slots = 1", "slots = 4").replace(
        "tue = 360.5", "tue = 360\nwed = 360\nthu = 360\nfri = 360"
    )
    covers = FILES["covers"] + "wed,45,30,60,\nthu,50,35,70,\nfri,60,45,80,\n"
    return write_folder(path, cafe=cafe, dishes=dishes, recipe_lines=lines, covers=covers)


def is_verified(folder: Path, plan_file: Path) -> bool:
    """Whether the plan in a file passes the verifier for the week it names."""
    plan, reading = read_plan(plan_file), read_folder(folder)
    cafe = reading.cafe
    week = Week(
        cafe,
        default_rules(cafe, reading.rules),
        plan.week,
        plan.week - timedelta(days=cafe.plan_ahead_days),
        plan.days,
    )
    return plan.verified and verify(plan, week).passed


# -- check ----------------------------------------------------------------


def test_check_says_what_was_read_and_what_was_defaulted(tmp_path: Path) -> None:
    code, out, err = run("check", write_folder(tmp_path / "cafe"), at=tmp_path)
    assert (code, err) == (0, "")
    assert "The Test Bench: no faults." in out
    assert "5 dishes" in out and "4 ingredients" in out
    assert "Squash soup is not in the cabinet on any day." in out
    assert "portion_g blank, taken from the course: tofu_salad" in out


def test_check_lists_every_fault_on_stderr_with_file_row_and_column(tmp_path: Path) -> None:
    folder = write_folder(
        tmp_path / "cafe",
        dishes=edited("dishes", "step_portions", "soup", "seven"),
        stock=LITTLE_STOCK + "squosh,1,each,2026-12-20,whole\n",
    )
    code, out, err = run("check", folder, at=tmp_path)
    assert (code, out) == (2, "")
    lines = err.splitlines()
    assert any(line.startswith("dishes.csv:5:step_portions: seven: ") for line in lines)
    assert any(line.startswith("stock.csv:3:item: squosh: ") for line in lines)


@pytest.mark.parametrize("verb", ["check", "plan"])
def test_a_folder_that_is_not_there_is_bad_input(tmp_path: Path, verb: str) -> None:
    code, out, err = run(verb, tmp_path / "nowhere", at=tmp_path)
    assert (code, out) == (2, "")
    assert err == "nowhere: no such folder; give the cafe's folder\n"


# -- plan: a plan ---------------------------------------------------------


def test_plan_prints_the_week_and_writes_every_file(tmp_path: Path) -> None:
    folder = easy_cafe(tmp_path / "cafe")
    code, out, err = run("plan", folder, "--seconds", 20, at=tmp_path)
    assert code == 0
    assert {path.name for path in (tmp_path / "plan_out").iterdir()} == set(file_names())
    assert is_verified(folder, tmp_path / "plan_out" / "plan.json")
    assert f"Written to {tmp_path / 'plan_out'}: week.csv" in out
    assert "Margin of the week" in out and "Proven best to the cent." in out
    assert "Planning Mon 2026-11-30 to Tue 2026-12-01, orders from Fri 2026-11-27." in err
    plan = json.loads((tmp_path / "plan_out" / "plan.json").read_text(encoding="utf-8"))
    assert plan["schema"] == 1 and plan["verified"] is True
    assert plan["gap_cents"] == max(0, plan["bound_cents"] - plan["objective_cents"])


def test_stdout_holds_nothing_but_what_we_print(tmp_path: Path) -> None:
    _, out, _ = run("plan", easy_cafe(tmp_path / "cafe"), "--work", 1, at=tmp_path)
    assert out.startswith("The Test Bench: Mon 2026-11-30 to Tue 2026-12-01\n")
    assert "HiGHS" not in out and "\x1b" not in out


def test_what_libraries_print_by_themselves_goes_nowhere() -> None:
    script = (
        "import os\nfrom optimiser import cli\ncli._keep_stdout_to_ourselves()\n"
        "os.write(1, b'a banner')\nprint('ours')"
    )
    process = subprocess.run(
        [sys.executable, "-c", script],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
    )
    assert (process.stdout, process.stderr) == ("ours\n", "")


def test_a_reader_who_has_seen_enough_is_no_error(tmp_path: Path) -> None:
    process = start("check", easy_cafe(tmp_path / "cafe"), at=tmp_path)
    assert process.stdout is not None and process.stderr is not None
    process.stdout.close()
    assert process.stderr.read() == ""
    assert process.wait(timeout=60) == 0


def test_the_same_seed_and_work_give_the_same_files_twice(tmp_path: Path) -> None:
    folder = easy_cafe(tmp_path / "cafe")
    for out in ("one", "two"):
        options = ("--work", 2, "--seed", 5, "--out", out)
        assert run("plan", folder, *options, at=tmp_path)[0] == 0
    for name in file_names():
        one, two = (tmp_path / out / name for out in ("one", "two"))
        assert one.read_bytes() == two.read_bytes(), name


def test_planning_moment_and_number_of_days_are_taken(tmp_path: Path) -> None:
    options = ("--work", 1, "--week", "2026-12-07", "--days", 1, "--today", "2026-12-06T09:30")
    assert run("plan", easy_cafe(tmp_path / "cafe"), *options, at=tmp_path)[0] == 0
    plan = read_plan(tmp_path / "plan_out" / "plan.json")
    assert (str(plan.week), plan.days, str(plan.planned_on)) == ("2026-12-07", 1, "2026-12-06")
    assert {str(row.date) for row in plan.shown} == {"2026-12-07"}


def test_an_earlier_plan_is_kept_to_when_nothing_may_change(tmp_path: Path) -> None:
    folder = easy_cafe(tmp_path / "cafe")
    assert run("plan", folder, "--work", 1, "--out", "first", at=tmp_path)[0] == 0
    first = read_plan(tmp_path / "first" / "plan.json")
    shown = {(row.date, row.dish) for row in first.shown}
    worth_more = edited("dishes", "price", "tofu_salad", "90.00")
    easy_cafe(folder, dishes=worth_more)
    kept = ("--from", "first/plan.json", "--change-at-most", 0, "--work", 1, "--out", "kept")
    code, out, _ = run("plan", folder, *kept, at=tmp_path)
    assert code == 0
    second = read_plan(tmp_path / "kept" / "plan.json")
    assert {(row.date, row.dish) for row in second.shown} == shown
    assert "change at most 0 of the earlier plan's cooks." in " ".join(out.split())
    free = ("--from", "first/plan.json", "--work", 5, "--out", "free")
    assert run("plan", folder, *free, at=tmp_path)[0] == 0
    third = read_plan(tmp_path / "free" / "plan.json")
    assert third.objective_cents > second.objective_cents + 5000


def test_a_kept_day_keeps_its_dishes_and_no_others(tmp_path: Path) -> None:
    folder = easy_cafe(tmp_path / "cafe")
    assert run("plan", folder, "--work", 1, "--out", "first", at=tmp_path)[0] == 0
    first = read_plan(tmp_path / "first" / "plan.json")
    kept_day, free_day = sorted({row.date for row in first.shown})
    salads = {"tofu_salad", "quinoa_salad"}
    (was,) = salads & set(first.dishes_on(kept_day))
    (other,) = salads - {was}
    easy_cafe(folder, dishes=edited("dishes", "price", other, "90.00"))
    options = ("--from", "first/plan.json", "--work", 3, "--out", "kept")
    code, _, err = run("plan", folder, *options, "--keep-day", kept_day, at=tmp_path)
    assert code == 0, err
    second = read_plan(tmp_path / "kept" / "plan.json")
    assert sorted(second.dishes_on(kept_day)) == sorted(first.dishes_on(kept_day))
    assert other in second.dishes_on(free_day)
    (rule,) = (rule for rule in second.rules if rule.kind == "keep_day")
    assert rule.holds
    both = (*options, "--keep-day", kept_day, "--keep-day", free_day)
    assert run("plan", folder, *both, at=tmp_path)[0] == 0
    third = read_plan(tmp_path / "kept" / "plan.json")
    for day in (kept_day, free_day):
        assert sorted(third.dishes_on(day)) == sorted(first.dishes_on(day))


def test_a_day_that_cannot_be_kept_is_bad_input(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    folder = easy_cafe(tmp_path / "cafe")
    assert run("plan", folder, "--work", 1, "--out", "first", at=tmp_path)[0] == 0
    dish = read_plan(tmp_path / "first" / "plan.json").dishes_on(date(2026, 12, 1))[0]
    monkeypatch.setattr(plan_command, "_search", lambda *_: pytest.fail("searched"))

    def said(*options: str) -> str:
        capsys.readouterr()
        assert cli.main(["plan", str(folder), "--from", "first/plan.json", *options]) == 2
        return capsys.readouterr().err

    absent = said("--keep-day", "2026-12-05")
    assert "--keep-day 2026-12-05: first/plan.json shows nothing that day" in absent
    assert "its days are 2026-11-30, 2026-12-01" in absent
    late = said("--keep-day", "2026-12-01", "--days", "1")
    assert "--keep-day 2026-12-01: no open day of the week planned" in late
    easy_cafe(folder, dishes=edited("dishes", "course", dish, "component"))
    assert "never in the cabinet" in said("--keep-day", "2026-12-01")


# -- plan: no plan --------------------------------------------------------


def test_rules_that_cannot_all_hold_exit_3_and_write_nothing(tmp_path: Path) -> None:
    folder = easy_cafe(tmp_path / "cafe", cafe=FILES["cafe"] + PIN)
    code, out, _ = run("plan", folder, "--seconds", 20, at=tmp_path)
    assert code == 3
    assert "soup" in out
    assert not (tmp_path / "plan_out").exists()


def test_no_week_near_enough_to_the_earlier_one_exits_3(tmp_path: Path) -> None:
    folder = easy_cafe(tmp_path / "cafe")
    assert run("plan", folder, "--work", 1, "--out", "first", at=tmp_path)[0] == 0
    dish = read_plan(tmp_path / "first" / "plan.json").shown[0].dish
    easy_cafe(folder, cafe=FILES["cafe"] + f'\n[[rules]]\nkind = "bar"\ndish = "{dish}"\n')
    kept = ("--from", "first/plan.json", "--change-at-most", 0, "--seconds", 20)
    code, out, _ = run("plan", folder, *kept, at=tmp_path)
    assert code == 3
    assert "changes at most 0 cooks of first/plan.json" in out
    assert not (tmp_path / "plan_out").exists()


@pytest.mark.parametrize(
    ("outcome", "words"),
    [
        (
            Outcome(None, rejected=(Breach(rule="stock", text="6 g of tofu too few"),)),
            "6 g of tofu",
        ),
        (Outcome(None), "No week was found in the time given"),
    ],
)
def test_without_a_verified_plan_the_exit_is_1_and_nothing_is_written(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    outcome: Outcome,
    words: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("optimiser.planner.plan_week", lambda *_: outcome)
    assert cli.main(["plan", str(easy_cafe(tmp_path / "cafe"))]) == 1
    said = capsys.readouterr()
    assert words in said.err and said.out == ""
    assert not (tmp_path / "plan_out").exists()


# -- bad input ------------------------------------------------------------

NOT_PLANS = {
    "absent": None,
    "no_json": "{",
    "deep": "[" * 100_000,
    "other_schema": '{"schema": 99}',
    "no_rows": '{"schema": 1, "week": "2026-11-30"}',
    "bytes": b"\xff\xfe\x00",
}


@pytest.mark.parametrize("name", NOT_PLANS)
def test_a_bad_earlier_plan_is_one_sentence_and_exit_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    content, file = NOT_PLANS[name], tmp_path / f"{name}.json"
    if content is not None:
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
    folder = easy_cafe(tmp_path / "cafe")
    assert cli.main(["plan", str(folder), "--from", str(file)]) == 2
    said = capsys.readouterr()
    assert said.err.startswith("--from ") and said.err.count("\n") == 1 and said.out == ""


@pytest.mark.parametrize(
    "options",
    [
        ["--week", "2026-02-30"],
        ["--week", "soon"],
        ["--days", "0"],
        ["--days", "29"],
        ["--seconds", "0"],
        ["--seconds", "nan"],
        ["--work", "1.5"],
        ["--seed", "-1"],
        ["--today", "2026-11-27T"],
        ["--today", "2026-11-27T25:00"],
        ["--change-at-most", "2"],
        ["--keep-day", "2026-11-30"],
        ["--keep-day", "monday"],
        ["--no-such-option"],
    ],
)
def test_unusable_options_exit_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str]
) -> None:
    with pytest.raises(SystemExit) as exit_:
        cli.main(["plan", str(easy_cafe(tmp_path / "cafe")), *options])
    assert exit_.value.code == 2
    assert options[0] in capsys.readouterr().err


@pytest.mark.parametrize("verb", ["sweep", ""])
def test_only_verbs_that_work_are_offered(capsys: pytest.CaptureFixture[str], verb: str) -> None:
    with pytest.raises(SystemExit) as exit_:
        cli.main([verb, "folder"])
    assert exit_.value.code == 2


def test_a_week_without_an_open_day_is_bad_input(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--week", "2026-12-02", "--days", "3"]
    assert cli.main(["plan", str(easy_cafe(tmp_path / "cafe")), *options]) == 2
    assert "closed on every day" in capsys.readouterr().err


@pytest.mark.parametrize("place", ["file", "file/below", "taken"])
def test_an_output_directory_that_cannot_be_is_refused_before_the_search(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    place: str,
) -> None:
    (tmp_path / "file").write_text("mine")
    (tmp_path / "taken" / "week.csv").mkdir(parents=True)
    monkeypatch.setattr(plan_command, "_search", lambda *_: pytest.fail("searched"))
    folder = easy_cafe(tmp_path / "cafe")
    assert cli.main(["plan", str(folder), "--out", str(tmp_path / place)]) == 2
    assert capsys.readouterr().err.splitlines()[-1].startswith("--out ")
    assert (tmp_path / "file").read_text() == "mine"


# -- interrupts and progress ----------------------------------------------


def interrupt_when(process: subprocess.Popen[str], word: str) -> None:
    """Send Ctrl-C once stderr says `word`, and wait a little for it to be heard."""
    assert process.stderr is not None
    next(line for line in process.stderr if word in line)
    process.send_signal(signal.SIGINT)
    time.sleep(0.5)


def test_ctrl_c_keeps_the_best_week_verifies_and_writes_it(tmp_path: Path) -> None:
    folder = hard_cafe(tmp_path / "cafe")
    process = start("plan", folder, "--seconds", 300, at=tmp_path)
    interrupt_when(process, ", best ")
    out, err = process.communicate(timeout=60)
    assert process.returncode == 0, err
    assert "Stopping: the best week so far is kept." in err
    assert is_verified(folder, tmp_path / "plan_out" / "plan.json")
    assert "above this one." in out


STUBBORN = """
import sys, threading, time
from optimiser.background import in_background, stop_on_interrupt

stop = threading.Event()
with stop_on_interrupt(stop):
    print("ready", file=sys.stderr, flush=True)
    in_background(lambda: time.sleep(60), lambda: None)
"""


def test_a_second_ctrl_c_gives_up_at_once_whatever_is_running(tmp_path: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    process = subprocess.Popen(
        [sys.executable, "-c", STUBBORN], env=environment, text=True, stderr=subprocess.PIPE
    )
    started = time.monotonic()
    interrupt_when(process, "ready")
    assert process.poll() is None  # the first only asks to stop
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=20)
    assert process.returncode == 130 and "Given up." in err
    assert time.monotonic() - started < 20


def test_ctrl_c_before_there_is_a_week_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(_week: Any, _effort: Any, _report: Any, stop: Any, *_: Any) -> Outcome:
        os.kill(os.getpid(), signal.SIGINT)
        assert stop.wait(10)
        return Outcome(None)

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("optimiser.planner.plan_week", interrupted)
    assert cli.main(["plan", str(easy_cafe(tmp_path / "cafe"))]) == 1
    assert "Stopped before a first week was found" in capsys.readouterr().err
    assert not (tmp_path / "plan_out").exists()


def test_progress_without_a_terminal_is_plain_lines(tmp_path: Path) -> None:
    process = start("plan", hard_cafe(tmp_path / "cafe"), "--seconds", 5, at=tmp_path)
    _, err = process.communicate(timeout=60)
    lines = [line for line in err.splitlines() if " s, " in line]
    assert 1 <= len(lines) <= 5
    assert "\x1b" not in err and "\r" not in err


def test_progress_on_a_terminal_is_one_live_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ours, theirs = pty.openpty()
    monkeypatch.setenv("TERM", "xterm")
    process = start(
        "plan", hard_cafe(tmp_path / "cafe"), "--seconds", 3, at=tmp_path, stderr=theirs
    )
    os.close(theirs)
    seen = b""
    while True:
        try:
            chunk = os.read(ours, 4096)
        except OSError:  # the other end is closed: a terminal says so by an error
            break
        if not chunk:
            break
        seen += chunk
    process.communicate(timeout=60)
    os.close(ours)
    assert b"choosing a menu" in seen
    assert b"\x1b[2K" in seen


def test_a_progress_line_gives_best_bound_and_gap_in_money() -> None:
    from optimiser.progress_line import progress_text

    line = progress_text(Progress(3.0, "improving: one course", 12345.6, 12400.0), 12.2, "AUD")
    assert line == "12 s, improving: one course, best $123.46, at most $124.00, gap $0.54"
    assert progress_text(Progress(0, "building", None, None), 0, "AUD") == "0 s, building"
