"""lineshaft: judges rig files, the text of rotary power drivetrains, before anybody connects power."""

from typing import Final

__version__: Final = "0.2.0"
