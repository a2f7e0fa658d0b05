"""Map of outcome and sound-leg peak force over step length and flexion resistance, per slope.

Files go to `figures/out/`.
"""

from pathlib import Path

from sim.survey_figures import save_default_figure

if __name__ == "__main__":
    save_default_figure("outcome_map", Path(__file__).parent / "out")
