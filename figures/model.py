"""The model: walker on the slope, prosthetic knee and ankle, foot on ground, with all symbols of `docs/model.md`.

Files go to `figures/out/`.
"""

from pathlib import Path

from sim.body import build_body
from sim.plots import save_for_print
from sim.plots.sketch import model_figure
from sim.plots.sketch_symbols import symbol_table
from sim.scenario import Scenario

if __name__ == "__main__":
    scenario = Scenario()
    body = build_body(scenario.person, scenario.components, scenario.foot)
    save_for_print(model_figure(body, scenario.person), Path(__file__).parent / "out" / "model", symbol_table())
