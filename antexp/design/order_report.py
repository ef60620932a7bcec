"""The design report as one document: what ``antexp order --json`` prints and what the text is made from."""

from __future__ import annotations

from typing import Any

from antexp.design.order_document import Order
from antexp.design.order_facts import followers, hang_again, kind_of_blocks, never_in_one_block, timetable


def order_report(order: Order) -> dict[str, Any]:
    """Return the design report.

    Returns
    -------
    dict
        The keys of `Order.to_dict` and: ``blocks_are`` (complete, balanced incomplete, incomplete), ``timetable``
        (one entry a block), ``follows`` (for each candidate how often it hangs directly after each other),
        ``hang_again`` (swaps at which the hanging antenna is lowered and hung again), ``never_in_one_block`` (pairs
        that only others tie together), ``rules`` (what every order of the set keeps) and ``hung`` (swaps done before
        the rest was laid out anew).
    """
    after = followers(order)
    return {
        **order.to_dict(),
        "blocks_are": kind_of_blocks(order),
        "timetable": timetable(order).to_dict(orient="records"),
        "follows": {name: {str(other): int(n) for other, n in row.items() if n} for name, row in after.iterrows()},
        "hang_again": list(hang_again(order)),
        "never_in_one_block": [list(pair) for pair in never_in_one_block(order)],
        "rules": list(order.recipe.get("rules", ())),
        "hung": order.hung,
    }
