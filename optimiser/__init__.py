"""Choose a plant-based cafe's week of cabinet dishes, prove it, check it, explain it."""

__version__ = "0.1.0"
