"""The walker held against every outside number of `tests/data/reference/targets.csv`."""
