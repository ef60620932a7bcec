"""The linear mixed model of a swap experiment: arrays in, arrays out; no tables, no files."""

from antexp.mixed.reml import fit_reml

__all__ = ["fit_reml"]
