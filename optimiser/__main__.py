"""`python -m optimiser`."""

from optimiser.cli import run

if __name__ == "__main__":
    run()
