"""A Dask cluster of this machine in a process of its own: prints its address, and ends when its input does.

`python local_cluster.py WORKERS`
"""

import sys

from distributed import LocalCluster

if __name__ == "__main__":
    with LocalCluster(
        n_workers=int(sys.argv[1]), threads_per_worker=1, processes=True, dashboard_address=":0", silence_logs=50
    ) as cluster:
        print(cluster.scheduler_address, flush=True)  # noqa: T201 - the address is the output
        sys.stdin.read()
