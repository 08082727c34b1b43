"""Times the same work with what people would take instead, and prints speed.md.

Usage: benches/compare > shared/verification/speed.md   (builds, runs our own benches, then this)

Peers on the 60-row bench (tests/data/kinetic60.csv), all with derivatives by hand, from one start,
with tolerances of 1e-10, on one thread:
  cminpack's lmder, from C                  benches/peers/lmder60.c
  the Rust crate levenberg-marquardt        benches/peers/lm-crate
  scipy.optimize.least_squares              here
Each fits once from the start (median of many), and refits 10 000 bootstrap samples of the residuals
from the optimum. Then NumPy draws for one heat time, cold starts, and the demo; and the warm-up of a
syringe by scipy.integrate.solve_ivp on the same cells (benches/peers/syringe.py).
"""

import argparse
import datetime
import json
import math
import os
import pathlib
import platform
import statistics
import subprocess
import sys
import tempfile
import time

import numpy as np
import scipy
from scipy.optimize import least_squares

ROOT = pathlib.Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "benches/peers"))

sys.dont_write_bytecode = True
import syringe  # noqa: E402
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
ROWS = np.loadtxt(ROOT / "tests/data/kinetic60.csv", delimiter=",", skiprows=1)
T, S, Y = ROWS[:, 1], ROWS[:, 2], ROWS[:, 5]
T_REF = 353.15
START = [-6.0, 2.0, -6.5, 15000.0]
# The optimum, by Gauss-Newton steps with 50 digits (mpmath).
OPTIMUM = [-6.4702384136182722, 2.4412095067764658, -6.1115120989107242, 18035.434342297916]
REFITS = 10_000


def parts(p):
    rate = np.exp(p[2] - p[3] * (1 / T - 1 / T_REF))
    unset = np.exp(-rate * S)
    return rate, unset


def model(p):
    _, unset = parts(p)
    return p[0] * unset + p[1] * (1 - unset)


def derivatives(p):
    rate, unset = parts(p)
    slope = (p[1] - p[0]) * unset * rate * S
    return np.column_stack([unset, 1 - unset, slope, -slope * (1 / T - 1 / T_REF)])


def fit(start, reading, **options):
    chosen = {"method": "lm", "jac": derivatives, "xtol": 1e-10, "ftol": 1e-10, "gtol": 1e-10} | options
    return least_squares(lambda p: model(p) - reading, start, **chosen)


def median_of(work, repeats):
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return statistics.median(times)


def run(*command):
    subprocess.run([str(c) for c in command], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def scipy_peer():
    found = fit(START, Y)
    one = median_of(lambda: fit(START, Y), 500)
    fitted, residuals = model(found.x), Y - model(found.x)
    rng = np.random.default_rng(1)
    begin = time.perf_counter()
    for _ in range(REFITS):
        fit(found.x, fitted + residuals[rng.integers(0, len(Y), len(Y))])
    refits = time.perf_counter() - begin
    return {"fit_s": one, "refits_s": refits, "parameters": found.x.tolist(), "failed": 0}


def output_of(name):
    """What a peer's program prints; None where it was not built (benches/compare says why)."""
    program = TARGET / "peers" / name
    if not program.exists():
        return None
    text = subprocess.run([program, ROOT / "tests/data/kinetic60.csv"], check=True, capture_output=True).stdout
    return json.loads(text)


def estimate(name, since):
    """Median of one of our criterion benches, in seconds.

    Criterion names its folders after the bench, shortened and with some characters replaced; the
    whole name stands in the file benchmark.json inside.
    """
    home = pathlib.Path(os.environ.get("CRITERION_HOME", TARGET / "criterion"))
    known = {}
    for file in home.glob("**/new/benchmark.json"):
        known[json.loads(file.read_text())["full_id"]] = file.with_name("estimates.json")
    if name not in known:
        sys.exit(f"no bench '{name}' under {home}; there are {sorted(known)}. Run benches/compare")
    if known[name].stat().st_mtime < since:
        sys.exit(f"the estimate of '{name}' is older than this run. Run benches/compare")
    return json.loads(known[name].read_text())["median"]["point_estimate"] * 1e-9


def heat_times(draws, rng, mean, lower):
    p = mean[:, None] + lower @ rng.standard_normal((4, draws))
    bore = 0.1842e-3 * (1 + 0.0191 / 0.1842 * rng.uniform(-1, 1, draws))
    area = math.pi * 4.7e-3**2 / 4
    viscosity = (20 - 2) / area * math.pi * bore**4 / (128 * 13e-3 * 1e-6 / 60)
    a = (np.log(viscosity) - p[0]) / (p[1] - p[0])
    rate = np.exp(p[2] - p[3] * (1 / 359.15 - 1 / T_REF))
    return np.quantile(-np.log1p(-np.clip(a, 0, 1 - 1e-12)) / rate, [0.025, 0.05, 0.5, 0.975])


def digits(found):
    """Correct digits of the worst parameter."""
    errors = [abs(f / o - 1) for f, o in zip(found, OPTIMUM)]
    return f"{-math.log10(max(*errors, 1e-16)):.1f}"


def in_words(seconds):
    for unit, size in (("s", 1.0), ("ms", 1e-3)):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds / 1e-6:.3g} us"


def row(*cells):
    print("| " + " | ".join(str(c) for c in cells) + " |")


def machine():
    text = pathlib.Path("/proc/cpuinfo")
    names = [line.split(":", 1)[1].strip() for line in text.read_text().splitlines() if line.startswith("model name")] if text.exists() else []
    return f"{os.cpu_count()} cores, {names[0] if names else platform.processor()}"


def version(*command):
    try:
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()
    except (OSError, subprocess.CalledProcessError):
        return "version unknown"


def cold_starts(folder):
    binary = TARGET / "release/heatset"
    calibration = folder / "compare.json"
    run(binary, "fit", ROOT / "data/demo_bench.csv", "--out", calibration)
    how = ["--at", "86C", "--gauge", "29", "--json"]
    ask = [binary, "time", calibration, "--blend", "plain", *how]
    # The 60-row bench has no shear rates: the force follows from the viscosity at once.
    bench, newtonian = folder / "bench.csv", folder / "newtonian.json"
    lines = [f"{row[0]},{row[2]},{row[6]!r}" for row in ROWS.tolist()]
    bench.write_text("\n".join(["heat_temp_C,heat_time_s,viscosity_Pa_s", *lines]) + "\n")
    run(binary, "fit", bench, "--out", newtonian)
    plain = [binary, "time", newtonian, *how]
    script = "import numpy, scipy.optimize as o; print(o.brentq(lambda t: t**2 - 2, 0, 2))"

    def demo():
        with tempfile.TemporaryDirectory() as fresh:
            run(binary, "demo", "--out", pathlib.Path(fresh) / "demo")

    return {
        "plain": median_of(lambda: run(*plain), 41),
        "plain, lag": median_of(lambda: run(*plain, "--warm-up", "35s"), 41),
        "time": median_of(lambda: run(*ask), 41),
        "time, lag": median_of(lambda: run(*ask, "--warm-up", "35s"), 41),
        "needles": median_of(lambda: run(binary, "needles"), 41),
        "demo": median_of(demo, 7),
        "python": median_of(lambda: run(sys.executable, "-c", script), 11),
    }


def conduction(ours):
    """Prints what conduction costs beside SciPy, and gives the aims."""
    schedule = ours("schedule of 6 min in a 1 mL syringe, to 0.05 K")
    answers = {
        text: ours(f"time answer, 10 000 draws, conduction in 1 mL/{text}")
        for text in (
            "contact known",
            "contact varying",
            "contact known, 5 min of cooling",
            "contact varying, 5 min of cooling",
        )
    }
    fits = {law: ours(f"fit of 60 rows, conduction in 1 mL/{law}") for law in ("law log", "law auto")}
    matrix, supply, tolerance_k, error_k = syringe.loosest()
    ivp = median_of(lambda: syringe.solved(matrix, supply, tolerance_k), 50)

    print("\n## Conduction in a syringe\n")
    print("A schedule is 6 min at 90 degrees C in a 1 mL syringe, core and mean within 0.05 K of ten times as many")
    print(f"cells. SciPy has the same cells, the Jacobian, and its loosest tolerance that does it ({tolerance_k:g} K, {error_k:.2f} K")
    print("off). Answers and fits count everything from the declared syringe on: fields, doses, draws, document.\n")
    row("", "heatset", f"scipy {scipy.__version__}, `solve_ivp`, BDF", "ratio")
    print("|---|---|---|---|")
    row("one schedule", in_words(schedule), in_words(ivp), f"{schedule / ivp:.4f}")
    for text, seconds in answers.items():
        row(f"answer to `time`, 10 000 draws, {text}", in_words(seconds), "", "")
    for text, seconds in fits.items():
        row(f"fit of 60 rows, {text}", in_words(seconds), "", "")
    return (
        [("schedule of 6 min in a 1 mL syringe under 200 us", schedule, 200e-6, in_words)]
        + [(f"answer with conduction under 50 ms, {text}", seconds, 50e-3, in_words) for text, seconds in answers.items()]
        + [(f"fit of 60 rows with conduction under 50 ms, {text}", seconds, 50e-3, in_words) for text, seconds in fits.items()]
    )


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--since", type=float, default=0.0, help="refuse estimates from before this time")
    parser.add_argument("--load", default="unknown", help="load of the machine before the run")
    asked = parser.parse_args()

    def ours(name):
        return estimate(name, asked.since)

    engine = ours("engine alone, 60 rows, from the peers' start")
    whole = ours("fit 60 rows, no start given, laid out and with covariance")
    refits = ours("10 000 bootstrap refits of 60 rows, one thread/by residuals")
    answer = ours("time answer, 10 000 draws, isothermal")
    answer_lag = ours("time answer, 10 000 draws, lag of 40 s")

    peers = []
    if c := output_of("lmder60"):
        cminpack = version("pkg-config", "--modversion", "cminpack")
        peers.append((f"cminpack {cminpack}, lmder, from C", c["plain"]))
        peers.append(("the same, rates kept by temperature and u kept for the derivatives", c["careful"]))
    if crate := output_of("release/lm-crate"):
        peers.append(("levenberg-marquardt 0.15 (Rust)", crate))
    peers.append((f"scipy {scipy.__version__}, `least_squares`, lm", scipy_peer()))
    bare = {"jac": "2-point", "method": "trf", "x_scale": "jac", "xtol": 1e-8, "ftol": 1e-8, "gtol": 1e-8}
    found = fit(START, Y, **bare)
    bare_s = median_of(lambda: fit(START, Y, **bare), 50)
    peers.append(("the same, trf with differences, its default tolerances", {"fit_s": bare_s, "refits_s": None, "parameters": found.x.tolist()}))

    optimum = fit(START, Y)
    covariance = np.linalg.inv(optimum.jac.T @ optimum.jac) * 2 * optimum.cost / 56
    lower = np.linalg.cholesky(covariance)
    rng = np.random.default_rng(1)
    numpy_draws = median_of(lambda: heat_times(10_000, rng, optimum.x, lower), 50)
    with tempfile.TemporaryDirectory() as folder:
        cold = cold_starts(pathlib.Path(folder))

    print("# Speed, beside what people would take instead\n")
    print("Made in one run by this command (needs a C compiler, cminpack as by `apt-get install libcminpack-dev`,")
    print("and Python with NumPy and SciPy; a peer that cannot be built is left out):\n")
    print("```sh\nbenches/compare > shared/verification/speed.md\n```\n")
    print(f"{datetime.date.today()}; {machine()}; {version('rustc', '--version').split(' (')[0]}; load before the run {asked.load}.")
    print("Read ratios of one run; absolute times belong to a machine.\n")
    print("## One fit of 60 rows, and 10 000 bootstrap refits on one thread\n")
    print("Every peer has derivatives by hand and the same start; heatset's engine has the same start for the rate and")
    print("the activation energy, and needs none for the other two, which it projects out. Refits start at the optimum.")
    print("C is compiled with -O3 -march=native, Rust as it comes. Digits: of the worst parameter.\n")
    row("", "one fit", "ours / this", "10 000 refits", "ours / this", "digits")
    print("|---|---|---|---|---|---|")
    row("heatset, engine from the same start", in_words(engine), "", in_words(refits), "", "10 or more, held by `benches/speed.rs`")
    row("heatset, whole fit: grid, no start, polish, covariance", in_words(whole), "", "", "", "")
    for name, peer in peers:
        again = peer["refits_s"]
        row(
            name,
            in_words(peer["fit_s"]),
            f"{engine / peer['fit_s']:.3f}",
            in_words(again) if again else "",
            f"{refits / again:.3f}" if again else "",
            digits(peer["parameters"]),
        )

    print("\n## Answers and cold starts\n")
    row("", "heatset", "Python", "ratio")
    print("|---|---|---|---|")
    row("whole answer to `time`, 10 000 draws, isothermal; NumPy: the draws alone", in_words(answer), in_words(numpy_draws), f"{answer / numpy_draws:.2f}")
    row("the same with a warm-up lag", in_words(answer_lag), "", "")
    for text, key in [
        ("cold start of `heatset time`, bench of 60 rows without shear rates; Python: NumPy, SciPy, one root", "plain"),
        ("the same with a warm-up lag", "plain, lag"),
        ("cold start of `heatset time`, demo bench: lots, fitted shear thinning", "time"),
        ("the same with a warm-up lag", "time, lag"),
    ]:
        row(text, in_words(cold[key]), in_words(cold["python"]), f"{cold[key] / cold['python']:.3f}")
    row("cold start of `heatset needles`", in_words(cold["needles"]), "", "")
    row("`heatset demo`: calibration, answer, charts, report", in_words(cold["demo"]), "", "")

    conduction_aims = conduction(ours)

    print("\n## Against the aims\n")
    row("aim", "measured", "")
    print("|---|---|---|")
    aims = [
        ("whole fit of 60 rows, no start given, under 12 us", whole, 12e-6, in_words),
        ("answer of 10 000 draws, isothermal, under 20 ms", answer, 20e-3, in_words),
        ("answer of 10 000 draws, with a lag, under 20 ms", answer_lag, 20e-3, in_words),
        ("cold start of `heatset time` under 15 ms, bench without shear rates", cold["plain"], 15e-3, in_words),
        ("the same with a lag", cold["plain, lag"], 15e-3, in_words),
        ("cold start of `heatset time` under 15 ms, demo bench with fitted shear thinning", cold["time"], 15e-3, in_words),
        ("the same with a lag", cold["time, lag"], 15e-3, in_words),
    ]
    thousand = 1000.0
    aims += [
        ("a Herschel-Bulkley plunger force under 1 us (a million a second and thread)",
         ours("flow/1000 Herschel-Bulkley pushes") / thousand, 1e-6, in_words),
        ("a Carreau-Yasuda plunger force under 5 us", ours("flow/1000 Carreau-Yasuda pushes") / thousand, 5e-6, in_words),
        ("`force` of 17 needles with intervals, 10 000 draws, under 30 ms",
         ours("force table of 17 needles, 10 000 draws"), 30e-3, in_words),
        ("both limits of a window, 100 000 draws, under 100 ms",
         ours("window/both limits, 100 000 draws"), 100e-3, in_words),
    ]
    if c:
        aims = [
            ("engine from the peers' start under 0.35 of cminpack, one fit", engine / c["plain"]["fit_s"], 0.35, "{:.3f}".format),
            ("the same, 10 000 refits", refits / c["plain"]["refits_s"], 0.35, "{:.3f}".format),
        ] + aims
    for text, measured, aim, words in aims + conduction_aims:
        row(text, words(measured), "met" if measured < aim else "**not met**")


if __name__ == "__main__":
    main()
