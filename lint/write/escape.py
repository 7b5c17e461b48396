"""Text from files, made harmless for the output it goes to. One function an output; each writer uses its own."""

import re

# C0 but the line feed, DEL, C1, bidi and other invisible format characters, line and paragraph separators,
# surrogates, the byte order mark, tags
_CONTROLS = (
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ud800-\udfff\ufeff"
    "\ufff9-\ufffb\U000e0000-\U000e007f]"
)
# Not a Char of XML 1.0 (W3C, section 2.2); serializers write them all the same.
_NOT_IN_XML = "[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"


def visible(text: str) -> str:
    """Terminal controls, bidi marks and line breaks as visible escapes: ``\\x1b``, ``\\u202e``."""
    if text.isascii() and text.isprintable():
        return text
    return re.sub(_CONTROLS, _coded, text).replace("\n", "\\n")


def _coded(match: re.Match[str]) -> str:
    code = ord(match.group())
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def harmless(text: str) -> str:
    """A text of several lines for a terminal or CI log: controls visible, no line that a runner takes as a command.

    Line feeds are the writer's own and stay; the marks of log commands, `::` and `##`, get a backslash between.
    """
    plain = text.isascii() and text.replace("\n", "").isprintable()
    clean = text if plain else re.sub(_CONTROLS, _coded, text)
    if "::" in clean or "##" in clean:
        # Looking ahead, so that three in a row leave no pair.
        clean = re.sub("#(?=#)", r"#\\", re.sub(":(?=:)", r":\\", clean))
    return clean


def xml_text(text: str) -> str:
    """A text for an XML document, markup not yet escaped: harmless, and no character that XML 1.0 does not have."""
    clean = harmless(visible(text))
    return clean if clean.isascii() else re.sub(_NOT_IN_XML, "\ufffd", clean)


def spreadsheet_cell(text: str) -> str:
    """A cell of a CSV file: controls visible, and an apostrophe before what a spreadsheet would run as a formula."""
    shown = visible(text)
    return f"'{shown}" if shown.lstrip().startswith(("=", "+", "-", "@")) else shown


def clean(text: str) -> str:
    """Text with every sign that a terminal or a runner would obey made visible."""
    return harmless(visible(text))
