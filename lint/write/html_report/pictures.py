"""Pictures in the page: as markup, where their parts are led to; or as images that are decoded when they are seen.

A report on hundreds of rigs opens at once only where what nobody looks at yet costs nothing: an image in a data URL is
one element until it comes into view, a drawing as markup hundreds.
"""

from urllib.parse import quote
from xml.etree import ElementTree as ET

from markupsafe import Markup

from lineshaft.write.drawing.style import CHART_STYLE, COLOURS, STYLE

_PLAIN = " =:/;,.-()'[]{}!*@&?+$"  # what may stand in a data URL as it is; the rest, `#` and `<` with it, is coded


def inline(element: ET.Element) -> Markup:
    """A picture as markup; the serializer has escaped every text in it."""
    return Markup(ET.tostring(element, encoding="unicode"))


def image(element: ET.Element) -> Markup:
    """A picture as an image, with its title and description as the text in its place."""
    page = ET.Element("svg", {**element.attrib, "xmlns": "http://www.w3.org/2000/svg"})
    ET.SubElement(page, "style").text = COLOURS + STYLE + CHART_STYLE
    page.extend(element)
    data = quote(ET.tostring(page, encoding="unicode"), safe=_PLAIN)
    said = f"{element.findtext('title')}. {element.findtext('desc')}"
    size = Markup('width="{}" height="{}"').format(element.get("width"), element.get("height"))
    return Markup('<img loading="lazy" {} alt="{}" src="data:image/svg+xml,{}">').format(size, said, data)
