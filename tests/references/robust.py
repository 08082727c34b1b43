"""Reference for the robust losses: statsmodels' RLM on the bench of tests/data/kinetic60.csv with the
rate law held at the optimum, so that the log law is a straight line in the conversion. Three readings
are spoilt. Prints the estimates that tests/fit_intervals.rs holds; output of statsmodels 0.15.0."""

import pathlib

import numpy as np
import statsmodels
import statsmodels.api as sm

rows = np.loadtxt(pathlib.Path(__file__).parent.parent / "data/kinetic60.csv", delimiter=",", skiprows=1)
T, t, y = rows[:, 1], rows[:, 2], rows[:, 5].copy()
y[[7, 30, 52]] += [1.2, -0.9, 0.8]
k = np.exp(-6.111512099 - 18035.43434 * (1 / T - 1 / 353.15))
u = np.exp(-k * t)
X = np.column_stack([u, 1 - u])
print("statsmodels", statsmodels.__version__)
for name, norm in [("huber", sm.robust.norms.HuberT(1.345)), ("tukey", sm.robust.norms.TukeyBiweight(4.685))]:
    fit = sm.RLM(y, X, M=norm).fit(tol=1e-13, maxiter=500, cov="H1", scale_est="mad")
    print(name, *(f"{v:.9f}" for v in (*fit.params, *fit.bse, fit.scale)), "weights", *(f"{fit.weights[i]:.5f}" for i in (7, 30, 52)))
