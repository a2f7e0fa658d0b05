"""One stride: joint angles, ground forces, knee moment and power of both legs, and where the energy went.

Files go to `figures/out/`; the ledger has its own CSV.
"""

from pathlib import Path

from sim.activities.walk import walk
from sim.plots import ledger_data, save_for_print, stride_data, stride_figure
from sim.plots.style import number_label
from sim.scenario import Scenario
from sim.table import write_table

if __name__ == "__main__":
    stem = Path(__file__).parent / "out" / "stride"
    result = walk(Scenario())
    data, ledger = stride_data(result), ledger_data(result)
    slope, step = number_label(result.scenario.slope_deg), number_label(result.scenario.mean_step_length)
    figure = stride_figure(data, ledger, f"One prosthetic stride, slope {slope} deg, steps of {step} m")
    save_for_print(figure, stem, data)
    write_table(ledger, stem.with_name("stride_ledger.csv"))
