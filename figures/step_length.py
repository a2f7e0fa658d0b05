"""Sound-leg peak force against step length, at fixed cadence and at fixed speed side by side.

Files go to `figures/out/`.
"""

from pathlib import Path

from sim.survey_figures import save_default_figure

if __name__ == "__main__":
    save_default_figure("step_length", Path(__file__).parent / "out")
