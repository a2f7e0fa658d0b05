"""What every report says of itself."""

CAUTION = (
    "A model for teaching and research: no device setting follows from it. Settings are made with the person by "
    "licensed practice; ramps and rails follow local codes."
)
SAFETY_PAGE = "docs/safety.md"
"""Intended use, foreseeable misuse, and where cautions are shown; comes with the source."""
EPILOG = f"{CAUTION} Intended use: {SAFETY_PAGE}."
"""For help texts."""
