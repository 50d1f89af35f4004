"""Wishes for single days as rules, and what changed from plan to plan."""

from __future__ import annotations

from datetime import date

from optimiser import wishes
from optimiser.plan_diff import plan_diff
from optimiser.rules.pins import Bar, KeepDay, Pin, Signature
from tests.small_cafe import MON, TUE, WED, small_plan

EVERY_WEEK = Signature(dish="roast", days=("mon",))


def test_a_dish_is_kept_once_and_let_go_again():
    kept = wishes.keep_dish(wishes.keep_dish((EVERY_WEEK,), "roast", MON), "roast", MON)
    assert kept == (EVERY_WEEK, Pin(dish="roast", day=MON))
    assert wishes.is_kept(kept, "roast", MON) and not wishes.is_kept(kept, "roast", TUE)
    assert wishes.free_dish(kept, "roast", MON) == (EVERY_WEEK,)


def test_the_later_wish_counts_where_two_clash():
    kept = wishes.keep_dish((), "roast", MON)
    barred = wishes.bar_dish(kept, "roast", MON)
    assert barred == (Bar(dish="roast", day=MON),)
    assert wishes.keep_dish(barred, "roast", MON) == kept
    both = (*kept, Pin(dish="roast", day=TUE), Pin(dish="salad", day=MON))
    assert wishes.bar_dish(both, "roast", None) == (Pin(dish="salad", day=MON), Bar(dish="roast"))


def test_a_day_is_kept_as_the_plan_has_it_and_a_bar_takes_the_dish_out_of_it():
    kept = wishes.keep_day(wishes.keep_day((), small_plan(), MON), small_plan(), MON)
    assert kept == (KeepDay(day=MON, dishes=("roast", "salad")),)
    assert wishes.is_kept_day(kept, MON) and not wishes.is_kept_day(kept, TUE)
    without = wishes.bar_dish(kept, "roast", MON)
    assert without == (KeepDay(day=MON, dishes=("salad",)), Bar(dish="roast", day=MON))
    assert wishes.bar_dish(without, "salad", MON)[0] == Bar(dish="roast", day=MON)
    assert wishes.free_day(kept, MON) == ()


def test_a_swap_takes_one_out_and_puts_the_other_in_on_all_its_days():
    swapped = wishes.swap_dish((Pin(dish="roast", day=MON),), "roast", "pie", [MON, TUE])
    assert swapped == (Bar(dish="roast", day=MON), Pin(dish="pie", day=MON),
                       Bar(dish="roast", day=TUE), Pin(dish="pie", day=TUE))  # fmt: skip


def test_bars_of_dates_and_of_every_day_are_found_and_those_of_weekdays_left_to_the_rules():
    rules = (Bar(dish="a", day=MON), Bar(dish="b"), Bar(dish="c", day="mon"),
             Bar(dish="d", day=date(2030, 1, 1)))  # fmt: skip
    assert wishes.barred(rules, [MON, TUE]) == [rules[0], rules[1]]


def test_what_changed_is_by_dish_and_day_and_not_by_place():
    old = small_plan()
    rows = list(old.shown)
    rows[5] = rows[5].model_copy(update={"dish": "other"})  # Wednesday's salad
    rows[0], rows[1] = (rows[0].model_copy(update={"place": 7}), rows[1])
    new = old.model_copy(update={"shown": tuple(rows), "objective_cents": 27000})
    diff = plan_diff(new, old)
    assert diff.fresh == {(WED, "other")} and diff.gone == {(WED, "salad"): ("salad",)}
    assert diff.count == 1 and diff.more_cents == 27000 - 27319
    same = plan_diff(old, old)
    assert (same.fresh, same.gone, same.count, same.more_cents) == (frozenset(), {}, 0, 0)
