"""Bytes that are no text."""

from typing import NamedTuple

from lineshaft.schema.text.span import Span


class Undecodable(NamedTuple):
    """Why the bytes are not text, and the span where that shows."""

    message: str
    span: Span
