"""A rehearsal on a dask cluster: an executor like any other, from the extra ``cluster``."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager

from antexp.errors import Fault, RepeatsError

_PATIENCE = "10s"


@contextmanager
def cluster_executor(address: str) -> Iterator[Executor]:
    """Open an executor on a running dask scheduler.

    Parameters
    ----------
    address : str
        Of the scheduler: ``tcp://192.0.2.7:8786``.

    Yields
    ------
    concurrent.futures.Executor

    Raises
    ------
    RepeatsError
        When dask is not installed or the scheduler does not answer.
    """
    try:
        from distributed import Client
    except ImportError:
        raise RepeatsError(Fault("--cluster needs dask, which is not installed",
                                 do='Install it with: pip install "antexp[cluster]"')) from None
    try:
        client = Client(address, timeout=_PATIENCE, set_as_default=False)
    except (OSError, ValueError) as error:
        raise RepeatsError(Fault("the cluster's scheduler does not answer", "--cluster", address,
                                 "the address that `dask scheduler` prints, such as tcp://192.0.2.7:8786",
                                 f"({type(error).__name__})")) from None
    with client:
        # results are small and every chunk is its own seed: nothing is gained by caching equal calls
        yield client.get_executor(pure=False)
