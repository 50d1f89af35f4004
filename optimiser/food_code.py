"""How cooked food is held and cooled, by the law of a place: what labels and sheets say."""

from __future__ import annotations

from dataclasses import dataclass

REHEAT = "reheat until steaming hot throughout."


@dataclass(frozen=True)
class FoodCode:
    """The sentences of one law. `where` and `source`: whose it is and where it stands."""

    where: str
    source: str
    hot: str
    cold: str
    keep: str

    @property
    def sentences(self) -> tuple[str, str, str]:
        """All that it says."""
        return (self.hot, self.cold, self.keep)


CODES = {
    "au": FoodCode(
        where="Australia",
        source="Food Standards Code, Standard 3.2.2",
        hot="Keep hot at 60 °C or above.",
        cold="Keep cold at 5 °C or below.",
        keep="To keep it for another day cool it from 60 to 21 °C within 2 hours and to 5 °C "
        f"within 4 more; {REHEAT}",
    ),
    "us": FoodCode(
        where="the United States, as states adopt it",
        source="FDA Food Code, 3-501.14 and 3-501.16",
        hot="Keep hot at 57 °C or above.",
        cold="Keep cold at 5 °C or below.",
        keep="To keep it for another day cool it from 57 to 21 °C within 2 hours and to 5 °C "
        f"within 6 hours in all; {REHEAT}",
    ),
    "uk": FoodCode(
        where="the United Kingdom",
        source="Food Safety and Hygiene (England) Regulations 2013, Schedule 4; cooling: "
        "Regulation (EC) 852/2004, Annex II, Chapter IX",
        hot="Keep hot at 63 °C or above.",
        # Lives in the tables are those of food at 5 °C; the law's limit is no reason to be warmer.
        cold="Keep cold at 5 °C or below; the law's limit is 8 °C.",
        keep=f"To keep it for another day cool it as quickly as possible to 5 °C; {REHEAT}",
    ),
}
"""By the setting `regime`."""

USUAL = "au"
