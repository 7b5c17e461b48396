"""Contrast of the drawing's colours, light and dark: WCAG 2.2, success criteria 1.4.3 (text) and 1.4.11 (graphics)."""

import re

import pytest

from lineshaft.write.drawing.style import COLOURS

SCHEMES = dict(zip(("light", "dark"), re.findall(r"\{(--[^}]*|color-scheme[^}]*)\}", COLOURS), strict=True))
ON_TEXT = [
    *(("ink", "paper"), ("ink", "card"), ("soft", "paper"), ("soft", "card"), ("alarm", "card"), ("alarm", "paper")),
    *(("paper", "alarm"), ("caution", "paper"), ("paper", "bar")),
]
ON_GRAPHICS = [
    *((f"t{n}", "paper") for n in range(1, 6)),
    *(("edge", "paper"), ("bar", "card"), ("alarm", "card"), ("caution", "card")),
]


def luminance(colour: str) -> float:
    """Relative luminance of `#rrggbb`, by the definition in WCAG 2.2."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """The contrast ratio, from 1 to 21."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("scheme", SCHEMES)
def test_contrast_is_enough(scheme: str) -> None:
    """Text has 4.5 : 1 at least on what it stands on, lines and edges 3 : 1."""
    colours = dict(re.findall(r"--([a-z0-9]+):(#[0-9a-f]{6})", SCHEMES[scheme]))
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    thin = {pair: contrast(colours[pair[0]], colours[pair[1]]) for pair in ON_TEXT}
    assert {pair: ratio for pair, ratio in thin.items() if ratio < 4.5} == {}
    lines = {pair: contrast(colours[pair[0]], colours[pair[1]]) for pair in ON_GRAPHICS}
    assert {pair: ratio for pair, ratio in lines.items() if ratio < 3} == {}


def test_a_darker_tint_is_told_from_the_next() -> None:
    """The five tints of torque grow in contrast one after the other, in both schemes."""
    for scheme in SCHEMES.values():
        colours = dict(re.findall(r"--([a-z0-9]+):(#[0-9a-f]{6})", scheme))
        ratios = [contrast(colours[f"t{n}"], colours["paper"]) for n in range(1, 6)]
        assert ratios == sorted(ratios)
