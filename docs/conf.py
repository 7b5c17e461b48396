"""The site: MyST pages by Sphinx, in the theme Furo. `docs/make FOLDER` adds what is made from the code."""

project = "lineshaft"
author = "The lineshaft contributors"
language = "en"
extensions = ["myst_parser"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["playground/**"]
myst_heading_anchors = 3
nitpicky = True
html_theme = "furo"
html_title = "lineshaft"
html_extra_path = ["extra"]
html_copy_source = False
html_show_sourcelink = False
html_theme_options = {"navigation_with_keys": True}
