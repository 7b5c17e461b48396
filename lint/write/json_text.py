"""A JSON document as bytes that no terminal and no CI runner takes for a command."""

import json


def json_text(document: object) -> bytes:
    """ASCII alone, one line feed at the end; `##` is written `#\\u0023`, which reads back the same.

    Some runners look for `##[` or `##vso[` anywhere in a line of the log, inside a JSON text too.
    """
    text = json.dumps(document, indent=2, allow_nan=False)
    return (text.replace("##", "#\\u0023") + "\n").encode("ascii")
