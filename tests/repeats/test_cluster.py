"""A rehearsal on a dask cluster: a real scheduler and two workers give the answer of one process."""

import pandas as pd
import pytest

from antexp.design.order import make_order
from antexp.errors import RepeatsError
from antexp.plan.reader import plan_from_dict
from antexp.repeats.cluster import cluster_executor
from antexp.repeats.rehearsal import rehearse

pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
# dask and tornado open sockets and loops of their own, whose closing time is not ours
pytestmark = pytest.mark.filterwarnings("default")


def test_two_workers_give_the_same_answer():
    from distributed import LocalCluster

    plan = plan_from_dict({"candidates": [str(i) for i in range(9)], "matter_db": 1.0, "meter": "spectrum analyser",
                           "field": {"blocks": 12}})
    order = make_order(plan)
    alone = rehearse(plan, order, {"3": 1.0}, records=11_000, seed=4)
    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None,
                      scheduler_port=0) as cluster, cluster_executor(cluster.scheduler_address) as executor:
        together = rehearse(plan, order, {"3": 1.0}, records=11_000, seed=4, executor=executor)
        used = len(cluster.scheduler_info["workers"])
    pd.testing.assert_frame_equal(alone.table, together.table, check_exact=True)
    assert used == 2


def test_a_scheduler_that_does_not_answer_is_said_so(monkeypatch):
    monkeypatch.setattr("antexp.repeats.cluster._PATIENCE", "1s")
    with (
        pytest.raises(RepeatsError, match=r"the cluster's scheduler does not answer: got tcp://127\.0\.0\.1:9"),
        cluster_executor("tcp://127.0.0.1:9"),
    ):
        pass
