"""Reference for the lag fitted to a trace: scipy.optimize.curve_fit on the invented trace of
tests/data/lag_trace.csv (which this script writes), with the set and the start temperature given or fitted.
Prints the figures that tests/traces.rs holds; output of scipy 1.17.1."""

import pathlib

import numpy as np
import scipy
from scipy.optimize import curve_fit

path = pathlib.Path(__file__).parent.parent / "data/lag_trace.csv"
rng = np.random.default_rng(4)
t = np.concatenate([np.arange(0, 120, 6.0), np.arange(120, 420, 20.0)])
T = np.round(86 - 64 * np.exp(-t / 52) + rng.normal(0, 0.4, len(t)), 2)
T[0] = 22.0
with path.open("w") as f:
    f.write("# invented data: a lag of 52 s from 22 to 86 degrees C with scatter of 0.4 K\ntime_s,temp_C\n")
    f.writelines(f"{a:g},{b:.2f}\n" for a, b in zip(t, T))

K = T + 273.15
print("scipy", scipy.__version__)


def show(name, fit):
    p, c = fit
    print(name, *(f"{v:.9g}" for v in p), "se", *(f"{v:.9g}" for v in np.sqrt(np.diag(c))))


later, start = slice(1, None), K[0]
tight = dict(xtol=1e-15, ftol=1e-15, gtol=1e-15)
show("set given, start first:", curve_fit(lambda t, tau: 359.15 - (359.15 - start) * np.exp(-t / tau), t[later], K[later], [40], **tight))
show("set fitted, start first:", curve_fit(lambda t, tau, s: s - (s - start) * np.exp(-t / tau), t[later], K[later], [40, 350], **tight))
show("set given, start fitted:", curve_fit(lambda t, tau, a: 359.15 - (359.15 - a) * np.exp(-t / tau), t, K, [40, 290], **tight))
show("both fitted:", curve_fit(lambda t, tau, s, a: s - (s - a) * np.exp(-t / tau), t, K, [40, 350, 290], **tight))
