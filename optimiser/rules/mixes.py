"""Rules that mix cuisines, methods and textures; a blank word is unknown and counts for nothing."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule
from optimiser.rules.groups import places
from optimiser.rules.traits import Trait, TraitCap, TraitsDaily, book, spelt, trait_of
from optimiser.rules.words import COURSE, counted, course_faults, dish_word, on, row_key, unknown
from optimiser.week import Week, open_dates


class CuisineCap(TraitCap):
    """Dishes of one day are not all of one cuisine.

    For each cuisine k and open day t:
        Σ_{r of cuisine k} shown[r,t] ≤ dishes
    """

    kind: Literal["cuisine_cap"] = "cuisine_cap"
    title: ClassVar[str] = "Dishes a day of one cuisine"
    unit: ClassVar[str] = "showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "two Greek dishes on Monday, cap 2"
    broken: ClassVar[str] = "three of them: broken by 1"
    trait: ClassVar[Trait] = "cuisine"


class MethodCap(TraitCap):
    """Dishes of one day are not all cooked by one method.

    For each method m, or only the one named, and each open day t:
        Σ_{r of method m} shown[r,t] ≤ dishes
    """

    kind: Literal["method_cap"] = "method_cap"
    title: ClassVar[str] = "Dishes a day cooked by one method"
    unit: ClassVar[str] = "showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "two roasted salads on Monday, cap 2"
    broken: ClassVar[str] = "three of them: broken by 1"
    trait: ClassVar[Trait] = "method"

    method: str | None = Field(
        default=None, description="the method meant, as in the table of dishes; blank = every one"
    )

    def describe(self, cafe: Cafe) -> str:
        if self.method is None:
            return super().describe(cafe)
        some = f"{self.dishes} {dish_word(self.course, self.dishes)}"
        of = f"of method {spelt(self.method)}"
        return f"At most {some} {of} a day; a blank method counts as none."

    def faults(self, cafe: Cafe) -> list[str]:
        known = {word for word in book(cafe, None, self.trait).values() if word}
        if self.method is not None and spelt(self.method) not in known:
            return [unknown("method", self.method, sorted(known))]
        return super().faults(cafe)

    def alike(self, cafe: Cafe) -> dict[str, str | None]:
        words = super().alike(cafe)
        return {
            dish: word if word is not None and self.means(word) else None
            for dish, word in words.items()
        }

    def means(self, word: str) -> bool:
        return self.method is None or word == spelt(self.method)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases = super().concede(plan, cafe, breaches)
        if self.method is None:
            return phrases
        named = f"of method {spelt(self.method)}"
        return [(text.replace("of one method", named), day) for text, day in phrases]


class CuisinesDaily(TraitsDaily):
    """The cabinet shows several cuisines.

    For each open day t, with seen[k,t] between 0 and 1 for each cuisine k:
        seen[k,t] ≤ Σ_{r of cuisine k} shown[r,t]   (always hard: what seen means)
        Σ_k seen[k,t] ≥ cuisines
    """

    kind: Literal["cuisines_daily"] = "cuisines_daily"
    title: ClassVar[str] = "Cuisines a day"
    unit: ClassVar[str] = "missing cuisine"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "Greek, Thai and Nordic dishes on Monday, 3 cuisines"
    broken: ClassVar[str] = "Greek and Thai ones: broken by 1"
    trait: ClassVar[Trait] = "cuisine"

    cuisines: int = Field(
        default=3, ge=1, le=20, description="different cuisines in the cabinet each day, at least"
    )

    def least(self) -> int:
        return self.cuisines


class MethodsDaily(TraitsDaily):
    """The cabinet shows several ways of cooking.

    For each open day t, with seen[m,t] between 0 and 1 for each method m:
        seen[m,t] ≤ Σ_{r of method m} shown[r,t]   (always hard: what seen means)
        Σ_m seen[m,t] ≥ methods
    """

    kind: Literal["methods_daily"] = "methods_daily"
    title: ClassVar[str] = "Methods a day"
    unit: ClassVar[str] = "missing method"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "raw, roasted and steamed dishes on Monday, 3 methods"
    broken: ClassVar[str] = "raw and roasted ones: broken by 1"
    trait: ClassVar[Trait] = "method"

    methods: int = Field(
        default=3, ge=1, le=20, description="different methods in the cabinet each day, at least"
    )

    def least(self) -> int:
        return self.methods


class TextureDaily(Rule):
    """Each day offers something with a certain bite.

    For each open day t:
        Σ_{r of that texture} shown[r,t] ≥ dishes
    """

    kind: Literal["texture_daily"] = "texture_daily"
    title: ClassVar[str] = "Dishes with a texture"
    unit: ClassVar[str] = "missing dish"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "a crunchy slaw on Monday, 1 crunchy dish"
    broken: ClassVar[str] = "only soft dishes: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    texture: str = Field(
        min_length=1, max_length=64, description="the texture, as in the table of dishes"
    )
    dishes: int = Field(default=1, ge=1, le=50, description="such dishes each day, at least")

    def describe(self, cafe: Cafe) -> str:
        verb = "is" if self.dishes == 1 else "are"
        some = f"{self.dishes} {dish_word(self.course, self.dishes)}"
        bite = spelt(self.texture)
        return f"Each day at least {some} {verb} {bite}; a blank texture counts as none."

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        words = book(cafe, self.course, "texture").values()
        known = sorted({word for word in words if word})
        if spelt(self.texture) not in known:
            return [unknown("texture", self.texture, known)]
        room = places(cafe, self.course)
        if (most := min(room, len(self._such(cafe)))) >= self.dishes:
            return []
        have = f"{counted(room, 'place')} and {len(self._such(cafe))} dishes of that texture"
        return [f"{self.dishes} dishes a day asked for, but there are {have}; ask for {most}"]

    def _such(self, cafe: Cafe) -> list[str]:
        """The dishes of that texture."""
        words = book(cafe, self.course, "texture")
        return [dish for dish, word in words.items() if word == spelt(self.texture)]

    def add_to(self, model: Rows) -> None:
        such = self._such(model.week.cafe)
        for day in model.week.open_dates:
            terms = [term for dish in such for term in model.shown(dish, day)]
            model.at_least(self, row_key("texture", day), terms, self.dishes)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Looks at each dish shown and counts down what the day still lacks."""
        wanted = spelt(self.texture)
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            short = self.dishes
            for dish in plan.dishes_on(day, self.course):
                short -= trait_of(cafe.dishes[dish], "texture") == wanted
            if short > 0:
                text = f"{on(day)} is {short} short of {wanted} dishes"
                breaches.append(self.breach(text, short, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.dishes

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases: list[Phrase] = []
        for b in breaches:
            number = self.dishes - round(b.amount)
            some = f"{number or 'no'} {spelt(self.texture)} {dish_word(self.course, number)}"
            phrases.append((f"{some} instead of {self.dishes}", b.day))
        return phrases


RULES: tuple[type[Rule], ...] = (CuisineCap, CuisinesDaily, MethodCap, MethodsDaily, TextureDaily)
