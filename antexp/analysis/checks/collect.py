"""All questions to the residuals of one judgement."""

from __future__ import annotations

from antexp.analysis.checks.carry_over import carry_over_check
from antexp.analysis.checks.drift_form import drift_form_check
from antexp.analysis.checks.odd_swap import odd_swap_check
from antexp.analysis.checks.swap_residuals import swap_residuals
from antexp.analysis.checks.unequal_scatter import unequal_scatter_check
from antexp.analysis.result import Check
from antexp.analysis.scopes import ScopedFit
from antexp.notices import Notice


def residual_checks(fitted: ScopedFit, drift: str) -> tuple[Check, ...]:
    """Ask the residuals.

    Parameters
    ----------
    fitted : ScopedFit
        The fit for these specimens.
    drift : str
        Form of drift.

    Returns
    -------
    tuple of Check
        Empty where fewer than three swaps are left over, and with ``wandering``: the walk ties neighbouring residuals
        together, so that what chance does to them is not known.
    """
    if drift == "wandering":
        return ()
    residuals = swap_residuals(fitted)
    if residuals is None:
        return ()
    reference = fitted.record.model.candidates[0]
    found = [
        drift_form_check(residuals, drift, reference),
        unequal_scatter_check(residuals),
        carry_over_check(residuals),
        odd_swap_check(residuals),
    ]
    return tuple(check for check in found if check is not None)


def check_notices(checks: tuple[Check, ...]) -> list[Notice]:
    """Turn what asks for it into warnings: below 0.1 drift, below 0.05 scatter, below 0.01 the rest."""
    return [Notice(check.warning, f"{check.question} {check.answer}") for check in checks if check.warning is not None]
