"""Which quantity the value of a key is."""

from collections.abc import Mapping
from typing import Final

from lineshaft.schema.quantities.units import QuantityKind

_KEYS: Final[Mapping[QuantityKind, tuple[str, ...]]] = {
    "torque": ("torque", "torque-limit", "torque-up-to"),
    "speed": ("speed", "speed-limit", "speed-up-to"),
    "power": ("power",),
    "volume": ("holds", "charge", "with", "amount"),
    "flow": ("uses", "flow"),
    "time": ("time", "run-dry-after"),
    "length": ("head", "diameter"),
    "stress": ("allowable-shear",),
    "density": ("density",),
    "share": ("tolerance", "efficiency"),
}
QUANTITY_OF_KEY: Final[Mapping[str, QuantityKind]] = {key: kind for kind, keys in _KEYS.items() for key in keys}
"""By the key as it is written, wherever it stands."""
