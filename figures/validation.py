"""Our walker against published bands: joint angles, forces, peaks, stance, and all numbers at once.

The walks, the published data and the verdicts are those of `experiments/validation`. Files go to `figures/out/`. Run it
as `python -m figures.validation`.
"""

from pathlib import Path

import pandas as pd

from experiments.validation.figures import DRAWINGS
from experiments.validation.run import answers
from experiments.validation.targets import Answer
from experiments.validation.walks import Walks
from sim.plots import save_for_print
from sim.plots.bands import VERDICTS, bands_figure
from sim.plots.style import styled


def with_band(found: list[Answer]) -> pd.DataFrame:
    """Every answer that has a band to be inside of, for `sim.plots.bands`."""
    rows = [
        {
            "row": one.target.id,
            "what": f"{one.target.id} {one.target.what}",
            "unit": one.target.unit or "1",
            "ours": one.finding.ours,
            "low": one.target.low,
            "high": one.target.high,
            "verdict": one.status,
            "known": one.target.confidence,
            "source": one.target.source,
        }
        for one in found
        if one.status in VERDICTS and one.target.low is not None and one.target.high is not None
    ]
    return pd.DataFrame(rows).astype({"ours": float})


if __name__ == "__main__":
    out, walks = Path(__file__).parent / "out", Walks()
    data = with_band(answers(walks))
    save_for_print(bands_figure(data, "Our walker beside published bands"), out / "validation", data)
    for name, draw in DRAWINGS.items():
        with styled():
            figure, numbers = draw(walks)
        save_for_print(figure, out / f"validation_{name}", numbers)
