"""Profile-likelihood ends of two published time courses, from the definition: where the profiled sum
of squares exceeds the least one by t^2 s^2. Prints what tests/fit_intervals.rs holds (SciPy 1.1x)."""

import pathlib

import numpy as np
from scipy.optimize import brentq, minimize_scalar
from scipy.stats import t as student

DATA = pathlib.Path(__file__).parent.parent / "data"


def ends(x, y):
    n = len(x)
    rates = np.geomspace(1e-3, 50, 20001)

    def squares(plateau, rate):
        return np.sum((y - plateau * (1 - np.exp(-rate * x))) ** 2)

    def plateau_at(rate):
        rise = 1 - np.exp(-rate * x)
        return rise @ y / (rise @ rise)

    def over_rate(rate):
        return squares(plateau_at(rate), rate)

    place = np.argmin([over_rate(rate) for rate in rates])
    rate = minimize_scalar(over_rate, bracket=tuple(rates[place - 1 : place + 2]), tol=1e-14).x
    least = over_rate(rate)
    threshold = student.ppf(0.975, n - 2) ** 2 * least / (n - 2)

    def over_plateau(plateau):
        place = int(np.argmin([squares(plateau, r) for r in rates]))
        place = min(max(place, 1), len(rates) - 2)
        bounds = (rates[place - 1], rates[place + 1])
        found = minimize_scalar(lambda r: squares(plateau, r), bounds=bounds, method="bounded", options={"xatol": 1e-13})
        return found.fun

    plateau = plateau_at(rate)
    by_rate = lambda r: over_rate(r) - least - threshold
    by_plateau = lambda p: over_plateau(p) - least - threshold
    return (
        (brentq(by_rate, rate * 1e-2, rate), brentq(by_rate, rate, rate * 20)),
        (brentq(by_plateau, plateau * 0.3, plateau), brentq(by_plateau, plateau, plateau * 4)),
    )


for name in ["calcium", "bod"]:
    table = np.loadtxt(DATA / f"{name}.csv", delimiter=",", skiprows=1)
    print(name, *ends(table[:, 0], table[:, 1]))
