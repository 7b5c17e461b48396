"""Twins: for each rule a file that breaks it and one that holds; installed as ``lineshaft.twins`` for ``explain``.

No other module belongs here, since all would be installed; the runner is ``tests/check/test_twins.py``.
"""
