"""The commands of `rampwalk`, one module each: `add_parser(subparsers)` and `run(options) -> int`."""
