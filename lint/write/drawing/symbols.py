"""Symbols of the kinds of parts, 40 by 40 px: our own, after the manner of ISO 3952 (kinematic diagrams), from memory.

A gear is a bar across its shaft, as tall as it is wide; a shaft is a line between two bearings; a bevel pair is two
trapezoids at right angles; a clutch is two plates, together or apart. What a symbol says, words beside it say too.
"""

from collections.abc import Mapping

from lineshaft.report_model.schematic_record import Figure

SYMBOLS: Mapping[Figure, str] = {
    "prime-mover": "M20 5A15 15 0 1 1 19.9 5ZM12 20A8 8 0 1 1 20 28M20 28L25 24M20 28L25 32",
    "shaft": "M2 20H38M10 11V16M10 24V29M30 11V16M30 24V29",
    "stage-reducing": "M2 9H16M16 4H24V14H16ZM16 15H24V37H16ZM24 26H38",
    "stage-increasing": "M2 14H16M16 3H24V25H16ZM16 26H24V36H16ZM24 31H38",
    "right-angle": "M2 13H14M14 8L20 4V22L14 18ZM21 23H39L35 29H25ZM30 29V38",
    "splitter": "M2 20H16M16 20L37 7M16 20H37M16 20L37 33M16 17A3 3 0 1 1 15.9 17Z",
    "combiner": "M38 20H24M24 20L3 7M24 20L3 33M24 17A3 3 0 1 1 23.9 17Z",
    "clutch-engaged": "M2 20H18M22 20H38M18 8V32M22 8V32",
    "clutch-open": "M2 20H12M28 20H38M12 8V32M28 8V32",
    "driven-machine": "M2 20H10M10 7H37V33H10ZM23.5 13A7 7 0 1 1 23.4 13Z",
    "blueprint": "M4 7H30L36 13V33H4ZM30 7V13H36M10 20H18M22 15V25H30V15ZM18 20H22",
    "unknown": "M8 8H32V32H8ZM14 14L26 26M26 14L14 26",
}
"""Paths of lines, drawn without filling."""

KIND_WORDS: Mapping[Figure, str] = {
    "prime-mover": "prime mover",
    "shaft": "shaft",
    "stage-reducing": "stage, reducing speed",
    "stage-increasing": "stage, increasing speed",
    "right-angle": "right-angle drive",
    "splitter": "splitter",
    "combiner": "combiner",
    "clutch-engaged": "clutch, engaged",
    "clutch-open": "clutch, open",
    "driven-machine": "driven machine",
    "blueprint": "blueprint, folded",
    "unknown": "unknown item",
}
