"""Ranges from which invented cafes are drawn: what a cafe buys, cooks and asks for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from optimiser.cafe import COMPONENT, Form

Range = tuple[float, float]


@dataclass(frozen=True)
class Shelf:
    """One kind of ingredient. `share`: of all ingredients; ranges: low, high."""

    name: str
    form: Form
    share: float
    colours: tuple[str, ...]
    cents_per_kg: Range
    keeps_days: tuple[int, int]
    protein_g: Range
    yield_pct: Range = (100, 100)
    piece_g: Range = (0, 0)
    opened_days: tuple[int, int] = (3, 5)
    group: str = ""
    supplier: str = "produce"


WARM, ANY = ("orange", "red", "yellow"), ("green", "red", "purple", "white", "orange", "yellow")
SHELVES = (
    Shelf("squash", Form.WHOLE, 0.02, ("orange", "yellow"), (450, 600), (20, 30), (1, 1.2),
          (70, 85), (1200, 3200)),
    Shelf("cabbage", Form.WHOLE, 0.05, ("green", "purple", "white"), (350, 760), (5, 14), (1.2, 2),
          (55, 80), (900, 1500)),
    Shelf("head", Form.WHOLE, 0.02, ("green", "yellow"), (700, 1500), (6, 8), (0.6, 1.4),
          (55, 80), (500, 1700), (2, 3)),
    Shelf("tofu", Form.WHOLE, 0.04, ("white", "brown"), (1300, 2400), (7, 9), (12, 19), (100, 100),
          (250, 450), (3, 4), group="soy", supplier="soy"),
    Shelf("tin", Form.WHOLE, 0.06, ("yellow", "black", "white", "red", "brown"), (950, 1350),
          (365, 365), (8.5, 9.8), (100, 100), (240, 400), (3, 3), group="pulse", supplier="dry"),
    Shelf("root", Form.LOOSE, 0.05, ("orange", "purple", "white"), (330, 970), (10, 18), (0.7, 2),
          (67, 90)),
    Shelf("veg", Form.LOOSE, 0.14, ANY, (500, 1300), (4, 8), (0.8, 3), (75, 95),
          group="fruit_veg"),
    Shelf("leaf", Form.LOOSE, 0.05, ("green", "green", "purple"), (730, 2070), (3, 6), (1.4, 4),
          (75, 95)),
    Shelf("allium", Form.LOOSE, 0.04, ("brown", "purple", "white"), (330, 1700), (10, 30),
          (1, 2), (85, 95)),
    Shelf("herb", Form.LOOSE, 0.04, ("green",), (2750, 3700), (3, 6), (2, 3.3), (60, 90)),
    Shelf("fruit", Form.LOOSE, 0.06, WARM, (450, 1200), (4, 18), (0.3, 1.1), (60, 90)),
    Shelf("grain", Form.DRY, 0.1, ("brown", "white", "yellow", "red"), (680, 2200), (180, 365),
          (7, 15), supplier="dry"),
    Shelf("pulse", Form.DRY, 0.06, ("green", "brown", "yellow", "black"), (1000, 1300), (365, 365),
          (20, 25), supplier="dry"),
    Shelf("nut", Form.DRY, 0.1, ("brown", "white", "green"), (1500, 5300), (80, 365), (15, 30),
          supplier="dry"),
    Shelf("oil", Form.DRY, 0.03, (), (700, 3100), (180, 365), (0, 0), supplier="dry"),
    Shelf("sauce", Form.DRY, 0.06, (), (500, 1950), (180, 365), (0, 10), supplier="dry"),
    Shelf("spice", Form.DRY, 0.08, (), (2500, 4000), (365, 365), (4, 18), supplier="dry"),
)  # fmt: skip
FILLING, HEARTY = ("squash", "cabbage", "root", "veg"), ("tofu", "tin", "pulse")

SHARES = {"salad": 0.49, "main": 0.24, "grain": 0.13, "soup": 0.06, COMPONENT: 0.08}
"""What part of the dishes belongs to each course."""

RECIPES: dict[str, tuple[tuple[tuple[str, ...], Range], ...]] = {
    "salad": ((FILLING, (38, 60)), ((*FILLING, "fruit", "head"), (18, 30)), (("leaf",), (8, 15)),
              (("nut",), (5, 10)), (("herb",), (2, 5)), (("oil",), (4, 7)), (("spice",), (0.3, 1))),
    "main": ((FILLING, (60, 90)), (("veg", "root"), (30, 55)), (("allium",), (10, 20)),
             (("sauce",), (10, 20)), (("nut",), (4, 10)), (("herb",), (2, 5)), (("oil",), (5, 9)),
             (("spice",), (0.5, 2))),
    "grain": ((("grain",), (42, 58)), (("veg", "root", "leaf"), (18, 32)), (("nut",), (3, 8)),
              (("herb",), (2, 5)), (("oil",), (4, 7)), (("spice",), (0.3, 1))),
    "soup": ((FILLING, (90, 140)), (("veg", "root"), (35, 60)), (("allium",), (15, 25)),
             (("herb",), (2, 4)), (("oil",), (4, 7)), (("spice",), (0.5, 2))),
    COMPONENT: ((("grain", "pulse"), (40, 46)), (("oil", "sauce"), (2, 8))),
}  # fmt: skip
"""Edible grams a portion, one ingredient from each line."""

PROTEIN_G: dict[str, Range] = {"salad": (4, 7), "main": (8, 15), "soup": (3, 6)}
"""Grams of protein that the hearty ingredient of a portion brings."""

MINUTES: dict[str, tuple[Range, Range]] = {
    "salad": ((18, 28), (16, 23)),
    "main": ((26, 38), (21, 33)),
    "grain": ((16, 18), (10, 12)),
    "soup": ((23, 24), (16, 18)),
    COMPONENT: ((4, 8), (3, 5)),
}
"""Hands-on minutes a cook, and more for each 10 portions."""

RULES: tuple[dict[str, Any], ...] = (
    {"kind": "spacing", "gap_days": 2},
    {"kind": "weekly_cap", "days": 2},
    {"kind": "hero_daily", "dishes": 2},
    {"kind": "colours_daily", "colours": 6},
    {"kind": "main_colour_cap", "course": "salad", "dishes": 2},
    {"kind": "protein_dishes", "course": "main", "dishes": 2, "protein_g": 12},
    {"kind": "protein_dishes", "course": "salad", "dishes": 2, "protein_g": 6},
    {"kind": "plate_protein", "worst_g": 14, "average_g": 24},
    {"kind": "portion_cost_cap", "course": "salad", "cap_cents": 190, "price_cents": 50},
    {"kind": "food_cost_pct", "pct": 30},
    {"kind": "purchase_budget", "budget_cents": 320_000},
    {"kind": "use_up", "item": "*", "within_days": 4, "share_pct": 80, "price_cents": 0.5},
)
