"""`python -m tests.write_rules_section`: put the rules as they are into the README."""

from __future__ import annotations

from pathlib import Path

from optimiser.rules.catalogue import markdown

README = Path(__file__).resolve().parents[1] / "README.md"
START, END = "<!-- rules -->\n", "<!-- end rules -->\n"


def with_rules(text: str) -> str:
    """The README with today's rules between its two markers, which stand there once each."""
    if text.count(START) != 1 or text.count(END) != 1 or text.index(START) > text.index(END):
        raise ValueError("README.md needs the rules' start and end marker once each, in order")
    before, rest = text.split(START)
    return f"{before}{START}{markdown()}{END}{rest.split(END)[1]}"


if __name__ == "__main__":
    README.write_text(with_rules(README.read_text(encoding="utf-8")), encoding="utf-8")
