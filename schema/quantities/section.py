"""The torque that a solid round shaft section stands: T = τ·π·d³/16."""

import math


def torque_of_section(diameter: float, shear: float) -> float:
    """Torque [N*m] from the diameter [m] and the allowable shear stress [Pa].

    Source: the torsion formula for a solid circle, e.g. Gere, *Mechanics of Materials*, ch. 3.
    """
    return shear * math.pi * diameter**3 / 16
