"""The drawing's style sheet: light and dark, and nothing that only colour tells."""

TYPEFACE = '"Noto Sans","Segoe UI",Roboto,"Liberation Sans",Arial,sans-serif'

_LIGHT = (
    "--paper:#ffffff;--ink:#16202a;--soft:#47525c;--card:#f5f7f6;--edge:#6f7a83;--bar:#34586a;--alarm:#a3161b;"
    "--caution:#6e4700;--t1:#7b98a0;--t2:#5d848f;--t3:#427180;--t4:#285c6d;--t5:#0a4557"
)
_DARK = (
    "--paper:#11171c;--ink:#eef3f6;--soft:#b6c2cb;--card:#1c252c;--edge:#85929c;--bar:#a9cbd8;--alarm:#ff9a8f;"
    "--caution:#f2c46d;--t1:#5c7a85;--t2:#6f95a1;--t3:#86b1be;--t4:#9fcfdc;--t5:#c2eefa"
)

COLOURS = f":root{{color-scheme:light dark;{_LIGHT}}}@media(prefers-color-scheme:dark){{:root{{{_DARK}}}}}"
"""The colours, as the page around a drawing and the drawing alone both use them."""

PRINTED = f"@media print{{:root{{color-scheme:light;{_LIGHT}}}}}"
"""On paper the light colours hold, whatever the screen shows."""

_LINES = "stroke-linejoin:round;stroke-linecap:round"
STYLE = (
    f".ls-drawing text{{font:12px {TYPEFACE};fill:var(--ink)}}"
    ".ls-drawing .name{font-size:15px;font-weight:700}"
    ".ls-drawing .head{font-size:20px;font-weight:700}"
    ".ls-drawing .verdict{font-size:16px;font-weight:700}"
    ".ls-drawing .soft{fill:var(--soft)}"
    ".ls-drawing .strong{font-weight:700}"
    ".ls-drawing .label{font-style:italic}"
    ".ls-drawing .over,.ls-drawing .times{font-weight:700;fill:var(--alarm)}"
    ".ls-drawing .times{font-size:14px}"
    ".ls-drawing .paper{fill:var(--paper)}"
    ".ls-drawing .card{fill:var(--card);stroke:var(--edge)}"
    ".ls-drawing .lit{stroke:var(--ink);stroke-width:2}"
    ".ls-drawing .broken{stroke:var(--alarm);stroke-width:4}"
    ".ls-drawing .unsolved{stroke-dasharray:6 4}"
    ".ls-drawing .wire,.ls-drawing .casing,.ls-drawing .gap{fill:none;stroke:var(--edge)}"
    ".ls-drawing .rest{stroke-dasharray:2 4}"
    ".ls-drawing .casing{stroke:var(--alarm)}"
    ".ls-drawing .gap{stroke:var(--paper)}"
    ".ls-drawing .arrow{fill:var(--edge);stroke:none}"
    + "".join(
        f".ls-drawing .wire.t{n}{{stroke:var(--t{n})}}.ls-drawing .arrow.t{n}{{fill:var(--t{n})}}" for n in range(1, 6)
    )
    + ".ls-drawing .arrow.alarm{fill:var(--alarm)}"
    ".ls-drawing .frame path{fill:none;stroke:var(--ink);stroke-width:1.5;stroke-dasharray:10 4 2 4}"
    f".ls-drawing .symbol{{fill:none;stroke:var(--ink);stroke-width:1.8;{_LINES}}}"
    f".ls-drawing .sign{{fill:none;stroke:var(--ink);stroke-width:1.7;{_LINES}}}"
    ".ls-drawing .sign.alarm{stroke:var(--alarm)}"
    ".ls-drawing .sign.on.error{stroke:var(--paper)}"
    ".ls-drawing .track{fill:none;stroke:var(--edge)}"
    ".ls-drawing .bar{fill:var(--bar)}"
    ".ls-drawing .hatch{fill:none;stroke:var(--alarm);stroke-width:1.6}"
    ".ls-drawing .limit{stroke:var(--ink);stroke-width:2}"
    ".ls-drawing .mark{fill:var(--paper);stroke:var(--ink)}"
    ".ls-drawing .mark.error{fill:var(--alarm);stroke:none}"
    ".ls-drawing .mark.warning{stroke:var(--caution);stroke-width:2}"
    ".ls-drawing .mark.note,.ls-drawing .mark.waived,.ls-drawing .mark.snag{stroke-dasharray:3 2}"
    ".ls-drawing .mark-words.error{fill:var(--paper);font-size:13px}"
    ".ls-drawing .alarm-words{fill:var(--alarm)}"
    ".ls-drawing .film-line{fill:none;stroke:var(--edge);stroke-width:1.5;stroke-dasharray:3 3}"
    ".ls-drawing .film-line.turns{stroke:var(--bar);stroke-width:4;stroke-dasharray:none}"
    ".ls-drawing .film-part{fill:var(--paper);stroke:var(--edge);stroke-dasharray:3 3}"
    ".ls-drawing .film-part.turns{fill:var(--bar);stroke:var(--bar);stroke-dasharray:none}"
    ".ls-drawing .film-part.breaks{fill:var(--alarm);stroke:var(--ink);stroke-width:3;stroke-dasharray:none}"
    ".ls-drawing .film-part.acts{stroke:var(--ink);stroke-width:3;stroke-dasharray:none}"
    ".ls-drawing .film-ring{fill:none;stroke:var(--bar);stroke-width:2}"
    ".ls-drawing .film-name{font-weight:700}"
    ".ls-drawing .film-name.on{fill:var(--paper)}"
    ".ls-drawing .film-cross{stroke:var(--paper);stroke-width:3}"
    ".ls-drawing .oil{fill:none;stroke:var(--soft);stroke-width:1.6;stroke-dasharray:1 4;stroke-linecap:round}"
    ".ls-drawing .rule{fill:none;stroke:var(--edge)}"
    ".ls-drawing a:focus-visible .mark,.ls-drawing :target .card{stroke:var(--ink);stroke-width:5}"
)
"""What belongs to a drawing, by classes alone: a page with a content policy takes it over by its hash."""

CHART_STYLE = (
    ".ls-drawing .window{fill:var(--bar)}"
    ".ls-drawing .outside{fill:none;stroke:var(--edge);stroke-dasharray:3 3}"
    ".ls-drawing .elsewhere{stroke:var(--edge);stroke-width:1.4;stroke-dasharray:1 4}"
    ".ls-drawing .grid{stroke:var(--edge);stroke-width:.6;opacity:.6}"
    ".ls-drawing .upright{stroke:var(--ink);stroke-width:1.5;stroke-dasharray:2 3}"
    ".ls-drawing .curve{fill:none;stroke:var(--ink);stroke-width:1.6}"
    ".ls-drawing .dot{fill:var(--paper);stroke:var(--ink);stroke-width:1.4}"
)
"""What charts need beside."""
