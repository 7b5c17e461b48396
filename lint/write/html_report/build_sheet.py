"""A build sheet as a page to print and to tick off: it needs nothing else and works without scripts."""

from markupsafe import Markup

from lineshaft.check.finding import Text
from lineshaft.report_model.build_sheet_record import BuildSheet
from lineshaft.write.build_sheet_markdown import DO_NOT, DONE, NO_START, until
from lineshaft.write.cautions import CAUTIONS
from lineshaft.write.drawing.style import COLOURS
from lineshaft.write.html_report.templates import content_policy, environment, text_of
from lineshaft.write.shown_units import Units, figures, words

_TICK = (
    "main{max-width:52rem;margin:0 auto;padding:1rem}.tick{padding-left:0;list-style:none}.tick li{padding:.15rem 0}"
    "ol.tick{padding-left:1.6rem;list-style:decimal}"
    "@media print{section,li{break-inside:avoid}input{-webkit-appearance:none;appearance:none;display:inline-block;"
    "width:1em;height:1em;border:1px solid #000;vertical-align:-.15em}}"
)


def build_sheet_html(sheet: BuildSheet, units: Units) -> bytes:
    """The page, UTF-8; the same bytes for the same rig."""
    style = COLOURS + text_of("style.css") + _TICK
    template = environment(("build_sheet.html",)).get_template("build_sheet.html")

    def said(text: Text) -> str:
        return words(text, units)

    text = template.render(
        sheet=sheet, policy=content_policy(style), style=Markup(style), said=said, figures=figures,
        cautions=CAUTIONS.replace("\n", " ").strip(), until=until(sheet).replace("`", ""),
        done=DONE, do_not=DO_NOT, no_start=NO_START,
    )  # fmt: skip
    return f"{text}\n".encode("utf-8", "backslashreplace")
