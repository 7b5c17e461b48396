"""Templates of pages: every value escaped, and a content policy that lets in what stands in the page and no more."""

import base64
import hashlib
from functools import cache
from importlib import resources

from jinja2 import DictLoader, Environment, StrictUndefined
from markupsafe import Markup

from lineshaft.write.escape import xml_text


@cache
def environment(names: tuple[str, ...]) -> Environment:
    """Some of the templates, with every value escaped, and made harmless before."""

    def shown(value: object) -> object:
        return xml_text(value) if isinstance(value, str) and not isinstance(value, Markup) else value

    loader = DictLoader({name: text_of(name) for name in names})
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, finalize=shown)


def text_of(name: str) -> str:
    """The text of a file beside the templates."""
    return resources.files("lineshaft.write.html_report").joinpath(name).read_text("utf-8")


def content_policy(style: str, script: str = "") -> str:
    """The content security policy of a page with one style sheet and, where it has one, one script."""
    scripts = f"script-src '{_hash(script)}'; " if script else ""
    return (
        f"default-src 'none'; img-src data:; style-src '{_hash(style)}'; {scripts}base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"
