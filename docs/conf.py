"""Sphinx's settings for the site; `python docs/website.py FOLDER` puts the pages together and builds it."""

project = "Orchid Year"
author = "the Orchid Year contributors"
html_title = "Orchid Year"
root_doc = "index"
extensions = ["myst_parser"]
myst_enable_extensions = ["deflist"]
myst_heading_anchors = 3
source_suffix = {".md": "markdown"}
nitpicky = True
html_theme = "alabaster"
html_static_path = ["_static"]
html_css_files = ["site.css"]
html_show_sourcelink = False
html_copy_source = False
html_theme_options = {
    "description": "A moth orchid's year, for beginners' clubs.",
    "fixed_sidebar": True,
    "page_width": "1120px",
    "sidebar_width": "260px",
    "font_family": "Georgia, 'DejaVu Serif', serif",
    "head_font_family": "Georgia, 'DejaVu Serif', serif",
    "link": "#22506f",
    "body_text": "#2b2622",
    "sidebar_link": "#22506f",
    "sidebar_collapse": False,
    "show_powered_by": False,
}
html_sidebars = {"**": ["about.html", "searchbox.html", "navigation.html"]}
