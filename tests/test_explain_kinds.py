"""One small impossible week for each kind of rule: the conflict, and how the rule has to give.

Of the tiny cafe of `test_explain`: two salads and a main a day for 20 guests, 10 portions of the
main and 5 of each salad. What gives is worked out in the head, beside each case.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import Any

import pytest

from optimiser.cafe import MOST_STRETCH_PCT, Cafe, Cover, Kitchen, Served, State
from optimiser.explain import Conflict, conflict
from optimiser.plan import Stretch
from optimiser.rules import RULE_CLASSES, parse_rule
from optimiser.rules.words import on
from optimiser.verify import verify
from optimiser.week import Week
from tests.rule_weeks import MON, TUE, WED, lot, week_plan
from tests.test_explain import cafe, week_of

SECONDS = 20.0


def pin(dish: str, day: str = "mon") -> dict[str, Any]:
    return {"kind": "pin", "dish": dish, "day": day}


KALE, SLAW, BEET, LENTIL, QUINOA, TOFU, PUMPKIN = map(
    pin,
    ("kale_salad", "kale_slaw", "beet_salad", "lentil_salad", "quinoa_salad", "tofu_bake",
     "pumpkin_bake"),
)  # fmt: skip


def changed(**changes: Any) -> Cafe:
    """The cafe with other fields, and nothing remembered of the old ones."""
    base = cafe()
    return Cafe(**{name: getattr(base, name) for name in Cafe.model_fields} | changes)


def dishes(*names: str, **fields: Any) -> dict[str, Any]:
    """The dishes of the cafe, some (none named: all) with other fields."""
    return {
        name: dish.model_copy(update=fields) if not names or name in names else dish
        for name, dish in cafe().dishes.items()
    }


def served(days_ago: int, *names: str) -> tuple[Served, ...]:
    day = MON - timedelta(days=days_ago)
    return tuple(Served(day=day, dish=name, cooked=4, sold=4) for name in names)


FEW = {day: Cover(expected=16, low=16, high=16) for day in range(7)}  # 8 portions, 800 g
FLEXIBLE = {
    name: dish.model_copy(
        update={"lines": tuple(one.model_copy(update={"flexible": True}) for one in dish.lines)}
    )
    for name, dish in cafe().dishes.items()
}
OPEN_THRICE = frozenset({0, 2, 3})  # Tuesday is closed


@dataclass(frozen=True)
class Case:
    """`settings`: the rule of the case first. `given`: what it becomes, where that is said in
    parameters. `rules`: kinds of the conflict, if not those of all settings."""

    settings: tuple[dict[str, Any], ...]
    sentence: str
    given: dict[str, Any] | None = None
    rules: tuple[str, ...] = ()
    cafe: Cafe = field(default_factory=cafe)
    days: int = 1

    @property
    def kind(self) -> str:
        return str(self.settings[0]["kind"])


CASES = (
    Case(  # three packs at 9.00 are over 20.00; with one, what the other dishes take has room
        ({"kind": "par_level", "item": "kale", "par_g": 2500},
         {"kind": "delivery_budget", "budget_cents": 2000}),
        "let Kale run down to 1,000 g instead of 2,500 g", {"par_g": 1000},
    ),
    Case(
        ({"kind": "delivery_budget", "budget_cents": 500},),
        f"AUD 7.00 for a delivery from Market instead of AUD 5.00 on {on(MON)}",
        {"budget_cents": 700},
    ),
    Case(  # 2.5 kg at 5 litres a kilo are 7.5 litres too many, asked for in steps of 5
        ({"kind": "fridge_litres", "litres": 5}, {"kind": "par_level", "item": "kale",
                                                  "par_g": 2500}),
        f"room for 15 litres in the fridge instead of 5 on {on(MON)}", {"litres": 15},
    ),
    Case(  # 8 portions, 800 of 1000 g; tofu would take two blocks of 500 g
        ({"kind": "finish_opened", "rest_g": 50}, PUMPKIN),
        "200 g of opened Pumpkin left over instead of 50 g", {"rest_g": 200},
        rules=("finish_opened",), cafe=changed(covers=FEW),
    ),
    Case(  # 990 g of 800 g: 23.75 %
        ({"kind": "recipe_stretch", "pct": 10}, {"kind": "finish_opened", "rest_g": 10}, PUMPKIN),
        "let flexible lines be 23.8 % off instead of 10 %", {"pct": 23.8},
        rules=("recipe_stretch", "finish_opened"), cafe=changed(covers=FEW, dishes=FLEXIBLE),
    ),
    Case(
        ({"kind": "opened_over_closed", "things": 0}, TOFU),
        f"1 opened thing over the closed day instead of 0 on {on(MON)}", {"things": 1},
        rules=("opened_over_closed",), cafe=changed(covers=FEW, open_days=OPEN_THRICE),
    ),
    Case(
        ({"kind": "neighbours", "course": "salad"}, KALE, SLAW),
        f"let 1 pair of salad dishes side by side look alike on {on(MON)}",
    ),
    Case(  # of 900 g one salad takes 500, and no second one of kale may stand beside it
        ({"kind": "use_up", "lot": "stock-1"}, {"kind": "hero_daily", "dishes": 1}),
        f"leave 400 g more of Kale unused (use by {on(TUE)})",
        cafe=changed(stock=(lot(1, "kale", 900, TUE),)),
    ),
    Case(
        ({"kind": "oven_settings", "settings": 1, "within_c": 5}, BEET, TOFU),
        f"2 oven temperatures instead of 1 on {on(MON)}", {"settings": 2},
        cafe=changed(dishes=dishes("beet_salad", oven_min=30.0, oven_c=180.0)),
    ),
    Case(  # nothing can be baked on Wednesday, so Monday's bake has to last 3 of its 4 days
        ({"kind": "closed_day_life", "spare_days": 2},
         {"kind": "station_minutes", "station": "oven"}),
        f"1 day of life left for Pumpkin bake after the closed day instead of 2 on {on(WED)}",
        {"spare_days": 1},
        cafe=changed(dishes=dishes(hold_days=4), open_days=OPEN_THRICE,
                     kitchen=Kitchen(oven_min=(120, 120, 0, 120, 120, 120, 120))),
        days=3,
    ),
    Case(
        ({"kind": "even_load", "station": "oven", "most_min": 30},),
        "60 oven minutes on the heaviest day instead of 30", {"most_min": 60},
    ),
    Case(
        ({"kind": "cooks_daily", "cooks": 2},), f"3 cooks instead of 2 on {on(MON)}", {"cooks": 3}
    ),
    Case(
        ({"kind": "plate_cost_cap", "most_cents": 60}, TOFU),
        f"AUD 1.65 of ingredients on the average plate instead of AUD 0.60 on {on(MON)}",
        {"most_cents": 165}, rules=("plate_cost_cap",),  # tofu 120, lentil 50 and beet 40
    ),
    Case(
        ({"kind": "portion_margin", "least_cents": 1400, "course": "main"}, TOFU),
        f"let Tofu bake earn AUD 13.80 a portion instead of at least AUD 14.00 on {on(MON)}",
        {"least_cents": 1380},
    ),
    Case(
        ({"kind": "in_season"}, KALE),
        f"let Kale salad in with 1 ingredient out of season on {on(MON)}",
    ),
    Case(
        ({"kind": "weeks_since", "weeks": 1}, KALE),
        f"let Kale salad come back after 3 days instead of more than 7 on {on(MON)}",
        cafe=changed(history=served(3, "kale_salad", "beet_salad")),
    ),
    Case(  # only the main is of those not seen: 1 of 3
        ({"kind": "unseen_share", "weeks": 1, "share_pct": 70}, KALE, BEET),
        "33 % of showings of dishes not seen lately instead of 70 %", {"share_pct": 33},
        rules=("unseen_share", "pin"), cafe=changed(history=served(3, "kale_salad", "beet_salad")),
    ),
    Case(
        ({"kind": "new_dishes_cap", "dishes": 0}, QUINOA),
        "1 new dish a week instead of 0", {"dishes": 1},
        cafe=changed(history=served(30, "kale_salad", "beet_salad", "tofu_bake")),
    ),
    Case(
        ({"kind": "cuisine_cap", "dishes": 1}, KALE, SLAW),
        f"2 dishes of one cuisine instead of 1 on {on(MON)}", {"dishes": 2},
    ),
    Case(
        ({"kind": "cuisines_daily", "cuisines": 3}, KALE, SLAW),
        f"2 cuisines instead of 3 on {on(MON)}", {"cuisines": 2},
    ),
    Case(
        ({"kind": "method_cap", "dishes": 1, "method": "steamed"}, KALE, SLAW),
        f"2 dishes of method steamed instead of 1 on {on(MON)}", {"dishes": 2},
    ),
    Case(
        ({"kind": "methods_daily", "methods": 3}, KALE, SLAW),
        f"2 methods instead of 3 on {on(MON)}", {"methods": 2},
    ),
    Case(
        ({"kind": "texture_daily", "texture": "crunchy", "dishes": 2}, KALE, BEET),
        f"1 crunchy dish instead of 2 on {on(MON)}", {"dishes": 1},
        rules=("texture_daily", "pin"),
    ),
    Case(
        ({"kind": "hero_weekly", "showings": 1}, KALE, pin("kale_slaw", "tue")),
        "let Kale carry 2 showings a week instead of 1", {"showings": 2}, days=2,
    ),
    Case(
        ({"kind": "together", "dish": "kale_salad", "needs": "beet_salad"}, KALE, SLAW),
        f"let Kale salad be shown without Beet salad on {on(MON)}",
    ),
    Case(
        ({"kind": "veg_groups_daily", "groups": 3}, KALE, SLAW),
        f"2 vegetable groups instead of 3 on {on(MON)}", {"groups": 2},
    ),
    Case(
        ({"kind": "dish_colours", "colours": 2}, KALE, SLAW),
        f"show Kale salad with 1 colour instead of 2 on {on(MON)}",
        rules=("dish_colours",),
    ),
    Case(  # 5 g of lentils' protein at 20 mg, 2 or so of kale's at 30, 15 g of tofu's at 22
        ({"kind": "amino_score", "score": 1.2, "acids": ["saa"]}, LENTIL, TOFU),
        f"an amino-acid score of 1.09, by its sulphur amino acids, instead of 1.2 on {on(MON)}",
        {"score": 1.09}, rules=("amino_score", "pin"),
    ),
    Case(  # kale 0.125 g and beet 0.2 g of salt: 0.1625 g on average
        ({"kind": "plate_salt", "most_g": 0.1}, KALE, BEET),
        f"0.2 g of salt on the average plate instead of 0.1 g on {on(MON)}", {"most_g": 0.2},
        rules=("plate_salt", "pin"),
    ),
    Case(  # kale 4 g, beet 3 g: 3.5 g, and 1 g of the tofu
        ({"kind": "plate_fibre", "least_g": 5}, KALE, BEET),
        f"4.5 g of fibre on the average plate instead of 5 g on {on(MON)}", {"least_g": 4.5},
    ),
    Case(
        ({"kind": "free_of", "allergen": "celery", "dishes": 2, "course": "salad"}, BEET),
        f"1 salad dish with no celery ingredients instead of 2 on {on(MON)}", {"dishes": 1},
    ),
    Case(  # nobody has read the label of the quinoa
        ({"kind": "diet_plate", "diets": ["vegan"]}, QUINOA),
        f"let the plate with vegan ingredients lack 1 salad dish on {on(MON)}",
        cafe=changed(plate={"salad": 2, "main": 1}),
    ),
    Case(
        ({"kind": "signature", "dish": "kale_salad", "days": ["mon"]},
         {"kind": "bar", "dish": "kale_salad", "day": "mon"}),
        f"do without Kale salad on {on(MON)}",
    ),
    Case(
        ({"kind": "keep_day", "day": MON, "dishes": ["kale_salad", "beet_salad"]}, LENTIL),
        f"let another dish take the place of Kale salad on {on(MON)}",  # earns more than Beet
    ),
)  # fmt: skip

OF_TEST_EXPLAIN = {
    "spacing", "weekly_cap", "hero_daily", "colours_daily", "main_colour_cap", "protein_dishes",
    "plate_protein", "station_minutes", "pin", "bar", "not_together", "purchase_budget",
}  # fmt: skip
"""Kinds that the weeks of `test_explain` have."""

NONE_HERE = {"portion_cost_cap", "food_cost_pct"}
"""Caps on a cost like those of plate and margin."""


def test_every_kind_has_its_impossible_week() -> None:
    kinds = {rule.model_fields["kind"].default for rule in RULE_CLASSES}
    assert {case.kind for case in CASES} | OF_TEST_EXPLAIN | NONE_HERE == kinds


@pytest.fixture(scope="module", params=CASES, ids=lambda case: case.kind)
def explained(request: pytest.FixtureRequest) -> tuple[Case, Week, Conflict]:
    case: Case = request.param
    week = week_of(case.cafe, *case.settings, days=case.days)
    return case, week, conflict(week, SECONDS)


def test_the_conflict_names_the_rules_and_none_too_many(
    explained: tuple[Case, Week, Conflict],
) -> None:
    case, week, found = explained
    assert found.holds is False and found.proven and not found.always
    kinds = case.rules or tuple(str(one["kind"]) for one in case.settings)
    assert sorted(part.kind for part in found.rules) == sorted(kinds)
    numbers = [part.number for part in found.rules]
    together = tuple(week.rules[n] for n in numbers)
    assert conflict(replace(week, rules=together), SECONDS).holds is False
    for number in numbers:
        others = [week.rules[n] for n in numbers if n != number]
        if week.rules[number].stretches:  # left out, no line could be stretched at all
            others.append(week.rules[number].model_copy(update={"pct": MOST_STRETCH_PCT}))
        assert conflict(replace(week, rules=tuple(others)), SECONDS).holds is True


def test_one_repair_is_the_rule_itself_giving_as_little_as_it_must(
    explained: tuple[Case, Week, Conflict],
) -> None:
    case, week, found = explained
    mine = [r for r in found.repairs if case.sentence in [c.sentence for c in r.changes]]
    assert mine, [repair.sentence() for repair in found.repairs]
    if case.given is not None:
        given = parse_rule({**case.settings[0], **case.given})
        assert any(given.check(repair.plan, week.cafe) == [] for repair in mine)
        assert all(week.rules[0].check(repair.plan, week.cafe) for repair in mine)


def test_every_repair_is_a_week_that_keeps_all_else(
    explained: tuple[Case, Week, Conflict],
) -> None:
    _, week, found = explained
    for repair in found.repairs:
        giving = {change.number for change in repair.changes}
        rules = tuple(
            rule.model_copy(update={"price_cents": 1.0}) if n in giving else rule
            for n, rule in enumerate(week.rules)
        )
        plan = repair.plan.model_copy(update={"rules": ()})
        others = verify(plan, replace(week, rules=rules)).breaches
        places = {"menu"} if None in giving else set()
        assert {breach.rule for breach in others} <= {"plan", "money"} | places
        for number in giving - {None}:
            assert week.rules[number].check(repair.plan, week.cafe)


def test_no_repair_only_accepts_a_breach(explained: tuple[Case, Week, Conflict]) -> None:
    _, _, found = explained
    for repair in found.repairs:
        for change in repair.changes:
            assert "accept that" not in change.sentence
            assert change.sentence[0].islower() or change.sentence[0].isdigit() or (
                change.sentence.startswith("AUD ")
            )  # fmt: skip


def test_a_stretch_of_a_line_that_is_not_flexible_has_words_too() -> None:
    """No plan of ours holds one; a plan written by hand may."""
    this, rule = cafe(), parse_rule({"kind": "recipe_stretch", "pct": 10})
    row = Stretch(date=MON, dish="tofu_bake", item="tofu", more_g=5.0)
    plan = week_plan(this, [("tofu_bake", MON, (MON,))], stretched=(row,))
    breaches = rule.check(plan, this)
    assert [breach.amount for breach in breaches] == [5.0]
    assert rule.concede(plan, this, breaches) == [
        ("let flexible lines be 50 % off instead of 10 %", None)
    ]


def test_no_share_at_all_is_not_called_a_percentage() -> None:
    """Both salads and the main were shown three days ago."""
    seen = ("kale_salad", "beet_salad", "tofu_bake")
    this = changed(history=served(3, *seen))
    settings = {"kind": "unseen_share", "weeks": 1, "share_pct": 70}
    found = conflict(week_of(this, settings, KALE, BEET, TOFU, days=1), SECONDS)
    sentences = {change.sentence for one in found.repairs for change in one.changes}
    assert "no showings of dishes not seen lately instead of 70 %" in sentences


def test_an_id_that_looks_like_a_day_is_no_day() -> None:
    """`93000001` is an item number; rows of a rule about it end in eight digits."""
    base = cafe()
    kale = base.ingredients["kale"].model_copy(update={"id": "93000001"})
    others = {name: one for name, one in base.ingredients.items() if name != "kale"}
    mains = {name: dish for name, dish in base.dishes.items() if "kale" not in name}
    this = changed(
        ingredients={**others, kale.id: kale},
        dishes=mains,
        offers=tuple(one for one in base.offers if one.ingredient != "kale"),
        stock=(lot(1, kale.id, 500, MON + timedelta(days=9), state=State.WHOLE),),
    )
    found = conflict(week_of(this, {"kind": "par_level", "item": kale.id, "par_g": 900}, days=1))
    assert [part.days for part in found.rules] == [()]
    assert found.repairs[0].sentence() == "Par level: let Kale run down to 500 g instead of 900 g"
