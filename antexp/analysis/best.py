"""TEMP."""
from types import SimpleNamespace
def best_rows(*a, **k):
    return SimpleNamespace(could_be_best=("x",))
