"""The same work as a user would do it in Python with SciPy, timed beside heatset in one run.

Usage: benches/compare   (builds heatset, runs its benches, then this script)

1. one global fit of the 60-row bench (tests/data/kinetic60.csv) with scipy.optimize.least_squares,
   analytic derivatives, from a given start;
2. 10 000 Monte Carlo draws for one heat time, vectorised with NumPy;
3. a cold start: a Python script that imports NumPy and SciPy and solves one heat time, against
   `heatset time`.
"""

import json
import math
import pathlib
import statistics
import subprocess
import sys
import time

import numpy as np
from scipy.optimize import brentq, least_squares

ROOT = pathlib.Path(__file__).resolve().parent.parent
ROWS = np.loadtxt(ROOT / "tests/data/kinetic60.csv", delimiter=",", skiprows=1)
T, S, Y = ROWS[:, 1], ROWS[:, 2], ROWS[:, 5]
T_REF = 353.15


def parts(p):
    rate = np.exp(p[2] - p[3] * (1 / T - 1 / T_REF))
    unset = np.exp(-rate * S)
    return rate, unset


def residuals(p):
    _, unset = parts(p)
    return p[0] * unset + p[1] * (1 - unset) - Y


def derivatives(p):
    rate, unset = parts(p)
    slope = (p[1] - p[0]) * unset * rate * S
    return np.column_stack([unset, 1 - unset, slope, -slope * (1 / T - 1 / T_REF)])


def median_of(work, repeats):
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return statistics.median(times)


def fit():
    return least_squares(residuals, [-6.0, 2.0, -6.5, 15000.0], derivatives, method="lm", xtol=1e-10, ftol=1e-10)


def heat_times(draws, rng, mean, lower):
    p = mean[:, None] + lower @ rng.standard_normal((4, draws))
    bore = 0.1842e-3 * (1 + 0.0191 / 0.1842 * rng.uniform(-1, 1, draws))
    area = math.pi * 4.7e-3**2 / 4
    viscosity = (20 - 2) / area * math.pi * bore**4 / (128 * 13e-3 * 1e-6 / 60)
    a = (np.log(viscosity) - p[0]) / (p[1] - p[0])
    rate = np.exp(p[2] - p[3] * (1 / 359.15 - 1 / T_REF))
    return np.quantile(-np.log1p(-np.clip(a, 0, 1 - 1e-12)) / rate, [0.025, 0.05, 0.5, 0.975])


def estimate(name):
    """Median of a criterion bench, in seconds."""
    folder = ROOT / "target/criterion" / name.replace(",", "_").replace(" ", " ")
    matches = [p for p in (ROOT / "target/criterion").glob("*") if p.name.replace("_", ",") == name or p.name == name]
    folder = matches[0] if matches else folder
    data = json.loads((folder / "new/estimates.json").read_text())
    return data["median"]["point_estimate"] * 1e-9


def main():
    found = fit()
    assert abs(found.x[3] - 18035.43434) < 1e-2, found.x
    scipy_fit = median_of(fit, 200)
    covariance = np.linalg.inv(found.jac.T @ found.jac) * 2 * found.cost / 56
    lower = np.linalg.cholesky(covariance)
    rng = np.random.default_rng(1)
    scipy_draws = median_of(lambda: heat_times(10_000, rng, found.x, lower), 50)

    cold = "import numpy, scipy.optimize as o; print(o.brentq(lambda t: t**2 - 2, 0, 2))"
    python_cold = median_of(lambda: subprocess.run([sys.executable, "-c", cold], check=True, stdout=subprocess.DEVNULL), 9)
    binary = str(ROOT / "target/release/heatset")
    calibration = "/tmp/heatset-compare.json"
    subprocess.run([binary, "fit", str(ROOT / "data/demo_bench.csv"), "--out", calibration, "--replace"], check=True, stdout=subprocess.DEVNULL)
    ask = [binary, "time", calibration, "--blend", "plain", "--at", "86C", "--gauge", "29", "--json"]
    heatset_cold = median_of(lambda: subprocess.run(ask, check=True, stdout=subprocess.DEVNULL), 25)
    ask_lag = ask + ["--warm-up", "35s"]
    heatset_cold_lag = median_of(lambda: subprocess.run(ask_lag, check=True, stdout=subprocess.DEVNULL), 25)

    ours_fit = estimate("fit 60 rows, no start given, laid out and with covariance")
    engine = estimate("engine alone, 60 rows, from the peers' start")
    ours_draws = estimate("time answer, 10 000 draws, isothermal")
    print(f"{'':44} {'heatset':>12} {'SciPy/NumPy':>12} {'ratio':>8}")
    for name, ours, theirs in [
        ("fit of 60 rows, heatset without a start", ours_fit, scipy_fit),
        ("fit of 60 rows, engine from the same start", engine, scipy_fit),
        ("10 000 draws and the whole time answer", ours_draws, scipy_draws),
        ("cold start: process, calibration, answer", heatset_cold, python_cold),
        ("the same with a warm-up lag", heatset_cold_lag, python_cold),
    ]:
        print(f"{name:44} {ours * 1e6:9.1f} us {theirs * 1e6:9.1f} us {ours / theirs:8.4f}")


if __name__ == "__main__":
    main()
