"""Intermediate goods: what is made of raw ones, and parts are made of."""

from collections.abc import Mapping
from typing import NamedTuple


class Component(NamedTuple):
    """An intermediate good: what one making takes, and how many it gives."""

    name: str
    made_of: Mapping[str, int]
    yields: int
