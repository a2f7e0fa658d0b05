"""One walk: stick figures with ground forces, force curves, knee angles.

Files go to `figures/out/`.
"""

from pathlib import Path

from sim.survey_figures import save_default_figure

if __name__ == "__main__":
    save_default_figure("walk", Path(__file__).parent / "out")
