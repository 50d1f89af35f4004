"""Cases of the rules in `nutrients`: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.amino import PATTERNS
from optimiser.cafe import Cafe
from optimiser.rules import Rule
from optimiser.rules.nutrients import AminoScore, PlateFibre, PlateSalt
from tests.rule_cases.base import CAFE, DAYS, Case, on_days, plan
from tests.rule_weeks import SAT, tiny_cafe


def every_acid_known() -> Cafe:
    """The tiny cafe; what it does not say of its ingredients is a fifth more than FAO asks."""
    ample = {acid: 1.2 * mg for acid, mg in PATTERNS["fao_2013_adult"].items()}
    return tiny_cafe(
        ingredients={
            one.id: one.model_copy(
                update={"amino_mg_per_g_protein": {**ample, **one.amino_mg_per_g_protein}}
            )
            for one in CAFE.ingredients.values()
        }
    )


LENTIL_KALE_TOFU = ("lentil_salad", "kale_salad", "tofu_bake")

SOLVED: dict[str, list[Case]] = {
    "amino_score": [
        Case(  # half of beet's 2 g and kale's 4 g, pumpkin's 1 g of unknown lysine: 4 g want
            # 4 x 48 = 192 mg and have 1 x 40 + 2 x 60
            AminoScore(acids=("lys",)),
            plan(*on_days(*LENTIL_KALE_TOFU)),
            plan(*on_days("beet_salad", "kale_salad", "pumpkin_bake")),
            [32] * 6,
        ),
        Case(  # quinoa: 5 + 2 + 14 = 21 g want 483 mg sulphur and have 100 + 60 + 504;
            # tofu on Saturday: 5 + 2 + 15 = 22 g want 506 and have 100 + 60 + 330
            AminoScore(),
            plan(*on_days("lentil_salad", "kale_salad", "grain_bake")),
            plan(
                *on_days("lentil_salad", "kale_salad", "grain_bake", days=DAYS[:-1]),
                *on_days(*LENTIL_KALE_TOFU, days=(SAT,)),
            ),
            [16],
            every_acid_known(),
        ),
        Case(  # a main alone; pumpkin's 1 g wants 0.8 x 45 mg of lysine, 0.8 x 22 of sulphur
            AminoScore(acids=("lys", "saa"), pattern="who_2007_adult", score=0.8),
            plan(*on_days("beet_salad", "kale_salad", "tofu_bake")),
            plan(*on_days("beet_salad", "kale_salad", "pumpkin_bake")),
            [17.6] * 6 + [36] * 6,
            tiny_cafe(plate={"main": 1}),
        ),
    ],
    "plate_salt": [
        Case(  # per portion: lentil 10 mg sodium, kale 50, beet 80; tofu unknown; soup 50
            # (10 + 50) / 2 = 30 mg is 0.075 g of salt; (80 + 50) / 2 + 50 = 115 is 0.2875 g
            PlateSalt(most_g=0.15),
            plan(*on_days(*LENTIL_KALE_TOFU)),
            plan(*on_days("beet_salad", "kale_salad", "soup")),
            [0.1375] * 6,
        ),
        Case(  # both salads on the plate: 10 + 50 mg, then 80 + 50 mg
            PlateSalt(most_g=0.15),
            plan(*on_days(*LENTIL_KALE_TOFU)),
            plan(*on_days("beet_salad", "kale_salad", "tofu_bake", days=(SAT,))),
            [0.175],
            tiny_cafe(plate={"salad": 2}),
        ),
    ],
    "plate_fibre": [
        Case(  # (8 + 7) / 2 + 7 = 14.5 g; (4 + 3) / 2 + 4 = 7.5 g
            PlateFibre(least_g=13),
            plan(*on_days("lentil_salad", "quinoa_salad", "grain_bake")),
            plan(*on_days("kale_salad", "beet_salad", "soup")),
            [5.5] * 6,
        ),
        Case(  # pumpkin's fibre is unknown and counts as none: (8 + 4) / 2 = 6 g
            PlateFibre(least_g=7),
            plan(*on_days(*LENTIL_KALE_TOFU)),
            plan(
                *on_days(*LENTIL_KALE_TOFU, days=DAYS[:-1]),
                *on_days("lentil_salad", "kale_salad", "pumpkin_bake", days=(SAT,)),
            ),
            [1],
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "amino_score": {
        "pattern": st.sampled_from(sorted(PATTERNS)),
        "score": st.sampled_from([0.55, 0.8, 0.9, 1.0, 1.2]),
        "acids": st.sampled_from([(), ("lys",), ("saa",), ("saa", "lys")]),
    },
    "plate_salt": {"most_g": st.sampled_from([0.02, 0.07, 0.13, 0.21, 0.3])},
    "plate_fibre": {"least_g": st.sampled_from([2.2, 5.3, 7.7, 9.1, 13.7])},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "amino_score", "acids": ["lys"]},
    {"kind": "amino_score", "acids": ["lys", "saa"], "pattern": "who_2007_adult", "score": 0.8},
    {"kind": "plate_salt", "most_g": 0.05},
    {"kind": "plate_fibre", "least_g": 2.0},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (AminoScore(), "name the amino acids to look at in acids"),
    (AminoScore(acids=("lys", "trp")), "the column trp_mg_per_g_protein of ingredients.csv is"),
    (AminoScore(acids=("lys", "saa"), score=1.5), "reaches 1.5 for lysine"),
    (PlateSalt(most_g=0.005), "has 0.02 g"),
    (PlateFibre(least_g=15), "no plate of these dishes has more than 14.5 g"),
)
