"""Travel of the mass centre over one stride, for several step lengths.

Files go to `figures/out/`.
"""

from pathlib import Path

from sim.survey_figures import save_default_figure

if __name__ == "__main__":
    save_default_figure("mass_centre", Path(__file__).parent / "out")
