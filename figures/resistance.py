"""Sound-leg peak force and loaded knee flexion rate against flexion resistance, falls marked.

Files go to `figures/out/`.
"""

from pathlib import Path

from sim.survey_figures import save_default_figure

if __name__ == "__main__":
    save_default_figure("resistance", Path(__file__).parent / "out")
