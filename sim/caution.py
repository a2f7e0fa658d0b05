"""What every report says of itself."""

CAUTION = (
    "A model for teaching and research: no device setting follows from it. Settings are made with the person by "
    "licensed practice; ramps and rails follow local codes."
)
