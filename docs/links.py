"""Whether every link of a built site leads somewhere inside it, and nothing in it is fetched from elsewhere.

    python docs/links.py FOLDER
"""

import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urldefrag, urlsplit

FETCHED = {"script": "src", "img": "src", "link": "href", "iframe": "src", "source": "src", "object": "data"}


class Page(HTMLParser):
    """The anchors of a page, where its links lead, and what it fetches."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.anchors: set[str] = set()
        self.links: list[str] = []
        self.fetched: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what one element is called and leads to."""
        given = dict(attrs)
        if given.get("id"):
            self.anchors.add(str(given["id"]))
        target = given.get(FETCHED.get(tag, ""))
        if target and given.get("rel") not in ("canonical", "index", "search", "next", "prev"):
            self.fetched.append(target)
        if tag == "a" and given.get("href"):
            self.links.append(str(given["href"]))


def broken(folder: Path) -> list[str]:
    """What leads nowhere, or is fetched from elsewhere, as `page: address`."""
    pages = {path.resolve(): Page(path.read_text("utf-8")) for path in sorted(folder.rglob("*.html"))}
    found = []
    for path, page in pages.items():
        where = path.relative_to(folder.resolve()).as_posix()
        for address in page.fetched:
            if urlsplit(address).scheme not in ("", "data") or address.startswith("//"):
                found.append(f"{where}: {address} is fetched from elsewhere")
        for address in (*page.links, *page.fetched):
            if not urlsplit(address).scheme and not _leads_somewhere(path, address, pages):
                found.append(f"{where}: {address}")
    return found


def _leads_somewhere(page: Path, address: str, pages: dict[Path, Page]) -> bool:
    relative, fragment = urldefrag(address)
    target = (page.parent / unquote(urlsplit(relative).path)).resolve() if relative else page
    if not target.is_file():
        return False
    return not fragment or target not in pages or unquote(fragment) in pages[target].anchors


if __name__ == "__main__":
    wrong = broken(Path(sys.argv[1]))
    sys.stderr.write("".join(f"{line}\n" for line in wrong))
    sys.exit(bool(wrong))
