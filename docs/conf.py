"""Documentation: the pages of this folder, and API pages made from the docstrings. `make docs` builds it."""

import re
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from sim import __version__

project = "rampwalk"
author = "the rampwalk authors"
version = release = __version__

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.apidoc", "sphinx.ext.napoleon"]
exclude_patterns = ["_build", "api/modules/modules.rst"]
default_role = "code"  # what stands in single backticks in a docstring is a name
html_theme = "alabaster"
html_theme_options = {"description": "Walking on slopes with one above-knee prosthesis, computed", "page_width": "70em"}
html_show_copyright = False

myst_heading_anchors = 4  # links to headings of a page

# numpy docstrings; names and types stay plain text, since "low, high" or "mass" exist in many places
napoleon_google_docstring = False
napoleon_use_param = False
napoleon_use_rtype = False
napoleon_custom_sections = [("Attributes", "params_style")]

autodoc_typehints = "none"  # the docstring says them, with units
autodoc_member_order = "bysource"
# each thing where it lives, not also in a package that passes it on
autodoc_default_options = {"ignore-module-all": True}
apidoc_modules = [
    {
        "path": "../sim",
        "destination": "api/modules",  # made at every build, not kept
        "separate_modules": True,
        "module_first": True,
        "automodule_options": {"members", "show-inheritance"},
    }
]


def setup(app):
    """Let pages link to files outside this folder, which are read in the repository, not here."""
    app.connect("source-read", without_outside_links)


def without_outside_links(app, page, source):
    """Keep only the words of a link to a place above this folder."""
    del app
    up = r"\.\./" * (page.count("/") + 1)
    source[0] = re.sub(rf"\[([^\]]*)\]\({up}[^)]*\)", r"\1", source[0])
