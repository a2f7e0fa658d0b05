"""Activities in place on their defaults, and a stop on a slope: poses with forces, force curves, knee angles.

Files go to `figures/out/`.
"""

from pathlib import Path

from sim.activities.bend import Bend, bend
from sim.activities.flight import Flight, flight
from sim.activities.sit import Sit, sit
from sim.activities.stair import Stair, stair
from sim.activities.stand import Stand, stand
from sim.activities.stop import Stop, stop
from sim.plots import save_for_print
from sim.plots.activities import activity_data, activity_figure
from sim.plots.stops import stop_figure

if __name__ == "__main__":
    out = Path(__file__).parent / "out"
    for name, result in {
        "stand": stand(Stand(slope_deg=-15.0, trial="push", push_n=60.0, ramp_seconds=15.0, seconds=15.0)),
        "bend": bend(Bend(repeats=1)),
        "sit": sit(Sit()),
        "stair": stair(Stair()),
        "flight": flight(Flight()),
    }.items():
        save_for_print(activity_figure(result), out / f"activity_{name}", activity_data(result))
    stopped = stop(Stop())
    save_for_print(stop_figure(stopped), out / "activity_stop", stopped.to_dataframe())
