"""The linear mixed model of a swap experiment: arrays in, arrays out; no tables, no files."""

from antexp.mixed.level_columns import LevelColumns, level_columns
from antexp.mixed.reml import fit_reml

__all__ = ["LevelColumns", "fit_reml", "level_columns"]
