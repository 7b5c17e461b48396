"""The formats that ``--write`` knows, each with its writer; a writer is imported when it is asked for."""

from collections.abc import Callable, Mapping

from lineshaft.write.summary import Run


def _json(run: Run) -> bytes:
    from lineshaft.write.findings_json import findings_json

    return findings_json(run)


def _sarif(run: Run) -> bytes:
    from lineshaft.write.sarif import sarif

    return sarif(run)


def _junit(run: Run) -> bytes:
    from lineshaft.write.junit import junit

    return junit(run)


def _github(run: Run) -> bytes:
    from lineshaft.write.github import github

    return github(run)


def _gitlab(run: Run) -> bytes:
    from lineshaft.write.gitlab import gitlab

    return gitlab(run)


def _markdown(run: Run) -> bytes:
    from lineshaft.write.markdown import markdown

    return markdown(run)


def _html(run: Run) -> bytes:
    from lineshaft.write.html_report.page import html_report

    return html_report(run)


WRITERS: Mapping[str, Callable[[Run], bytes]] = {
    "json": _json,
    "sarif": _sarif,
    "junit": _junit,
    "github": _github,
    "gitlab": _gitlab,
    "markdown": _markdown,
    "html": _html,
}
"""Format to writer: a run to the bytes of the file."""

NEED_PAGES = frozenset({"sarif"})
"""Formats that carry the rules' pages (`Run.pages`)."""

SHOW_REPAIRS = frozenset({"json", "sarif", "junit", "markdown", "html"})
"""Formats that show proved repairs; for the others none need be looked for."""

NEED_REPORT_MODELS = frozenset({"html"})
"""Formats that show the rigs themselves (`Run.report_models`)."""
