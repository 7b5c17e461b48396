"""The drawing's style sheet: light and dark, and nothing that only colour tells."""

TYPEFACE = '"Noto Sans","Segoe UI",Roboto,"Liberation Sans",Arial,sans-serif'

_LIGHT = "--paper:#ffffff;--ink:#1a1d21;--soft:#4b5259;--card:#f4f5f3;--edge:#6b747d;--bar:#3f4b57;--alarm:#a11212"
_DARK = "--paper:#15181b;--ink:#eceff1;--soft:#b4bcc4;--card:#22272c;--edge:#8b959f;--bar:#b9c4cf;--alarm:#ff9c8f"

COLOURS = f":root{{color-scheme:light dark;{_LIGHT}}}@media(prefers-color-scheme:dark){{:root{{{_DARK}}}}}"
"""The colours, as the page around a drawing and the drawing alone both use them."""

STYLE = (
    f".ls-drawing text{{font:12px {TYPEFACE};fill:var(--ink)}}"
    ".ls-drawing .name{font-size:14px;font-weight:700}"
    ".ls-drawing .head{font-size:18px;font-weight:700}"
    ".ls-drawing .soft{fill:var(--soft)}"
    ".ls-drawing .strong{font-weight:700}"
    ".ls-drawing .label{font-style:italic}"
    ".ls-drawing .over{font-weight:700;fill:var(--alarm)}"
    ".ls-drawing .paper{fill:var(--paper)}"
    ".ls-drawing .card{fill:var(--card);stroke:var(--edge)}"
    ".ls-drawing .broken{stroke:var(--alarm);stroke-width:3}"
    ".ls-drawing .unsolved{stroke-dasharray:6 4}"
    ".ls-drawing .wire{fill:none;stroke:var(--edge);stroke-width:2}"
    ".ls-drawing .arrow{fill:var(--edge)}"
    ".ls-drawing .symbol{fill:none;stroke:var(--ink);stroke-width:1.8;stroke-linejoin:round;stroke-linecap:round}"
    ".ls-drawing .track{fill:none;stroke:var(--edge)}"
    ".ls-drawing .bar{fill:var(--bar)}"
    ".ls-drawing .limit{stroke:var(--ink);stroke-width:2}"
    ".ls-drawing .mark{fill:var(--paper);stroke:var(--ink)}"
    ".ls-drawing .mark.error{fill:var(--ink)}"
    ".ls-drawing .mark.note,.ls-drawing .mark.waived{stroke-dasharray:3 2}"
    ".ls-drawing .mark-words{font-weight:700}"
    ".ls-drawing .mark-words.error{fill:var(--paper)}"
    ".ls-drawing a:focus-visible .mark,.ls-drawing :target .card{stroke-width:4}"
)
"""What belongs to a drawing, by classes alone: a page with a content policy takes it over by its hash."""

CHART_STYLE = (
    ".ls-drawing .grid{stroke:var(--edge);stroke-width:.6;opacity:.6}"
    ".ls-drawing .upright{stroke:var(--ink);stroke-width:1.5;stroke-dasharray:2 3}"
    ".ls-drawing .curve{fill:none;stroke:var(--ink);stroke-width:1.6}"
    ".ls-drawing .dot{fill:var(--paper);stroke:var(--ink);stroke-width:1.4}"
)
"""What charts need beside."""
