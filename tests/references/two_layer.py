"""Reference for conduction in gel and wall: a cylinder in a tube, method of lines in space, SciPy's
Radau in time. Space is spectral, not finite volumes: Chebyshev points in s = (r/R)^2 through the gel (where
the field is smooth in s) and in r through the wall; the two values at the gel's surface and at the outside
follow at every moment from one flow through each. Every case is run on two sets of points, and the script
fails if they differ by more than 1e-7 K. Writes tests/data/two_layer_cylinder.csv.

The inputs are round numbers: plasma and polypropylene as in the project's shared/materials.csv,
glass likewise, coefficients from the middle of their ranges. SciPy 1.17.1, NumPy as installed beside it."""

import pathlib

import numpy as np
from scipy.integrate import solve_ivp

GEL = (0.58, 1025.0, 3900.0)
PLASTIC = (0.17, 905.0, 1925.0)
GLASS = (1.2, 2230.0, 850.0)
ZERO = 273.15

# name: bore, wall, wall's body, start C, (h, block from C, K/s, block to C, duration), (h, air C, duration)
CASES = {
    "1 mL polypropylene": (4.7e-3, 0.9e-3, PLASTIC, 22, (150, 90, 0, 90, 360), (30, 22, 240)),
    "5 mL polypropylene": (12e-3, 1.0e-3, PLASTIC, 22, (150, 90, 0, 90, 360), (30, 22, 240)),
    "5 mL glass": (12e-3, 1.0e-3, GLASS, 4, (300, 86, 0, 86, 360), (17, 25, 240)),
    "1 mL in a cold block": (4.7e-3, 0.9e-3, PLASTIC, 22, (150, 60, 1 / 3, 90, 360), (38, 22, 240)),
}
TIMES = [1, 2, 5, 10, 20, 40, 60, 90, 91, 120, 180, 240, 360, 362, 380, 420, 480, 600]


def chebyshev(n, a, b):
    """Points from a to b and the matrix that differentiates on them (Trefethen, Spectral Methods in
    MATLAB, program cheb)."""
    k = np.arange(n + 1)
    x = np.cos(np.pi * k / n)
    c = np.where((k == 0) | (k == n), 2.0, 1.0) * (-1.0) ** k
    X = np.tile(x, (n + 1, 1)).T
    D = np.outer(c, 1 / c) / (X - X.T + np.eye(n + 1))
    D -= np.diag(D.sum(axis=1))
    points = a + (b - a) * (1 - x) / 2
    return points, D * (-2 / (b - a))


def clenshaw_curtis(n):
    """Weights on 0 to 1 at the same points."""
    w = np.zeros(n + 1)
    for i in range(n + 1):
        s = sum((1 if 2 * k in (0, n) else 2) * np.cos(2 * np.pi * k * i / n) / (1 - 4 * k * k) for k in range(n // 2 + 1))
        w[i] = s / n * (0.5 if i in (0, n) else 1.0)
    return w


def run(case, n):
    bore, wall, body, start, heat, cool = case
    R = bore / 2
    s, Ds = chebyshev(n, 0.0, 1.0)
    r, Dr = chebyshev(n, R, R + wall)
    ag, aw = GEL[0] / (GEL[1] * GEL[2]), body[0] / (body[1] * body[2])
    # dT/dt = 4 alpha/R^2 d/ds(s dT/ds) in the gel, alpha (1/r) d/dr(r dT/dr) in the wall.
    Lg = 4 * ag / R**2 * (Ds @ np.diag(s) @ Ds)
    Lw = aw * (np.diag(1 / r) @ Dr @ np.diag(r) @ Dr)
    fg = GEL[0] * 2 / R * Ds[-1]  # k dT/dr at the gel's surface: dT/dr = 2 s^(1/2)/R dT/ds
    fw, fo = body[0] * Dr[0], body[0] * Dr[-1]
    # Unknown: gel without its surface, wall without its two surfaces.
    m = n
    def closed(u, h, outside):
        g, w = u[:m], u[m:]
        # fg.[g, Ti] = fw.[Ti, w, To];  fo.[Ti, w, To] = h (outside - To)
        A = np.array([[fg[-1] - fw[0], -fw[-1]], [fo[0], fo[-1] + h]])
        b = np.array([fw[1:-1] @ w - fg[:-1] @ g, h * outside - fo[1:-1] @ w])
        ti, to = np.linalg.solve(A, b)
        return np.append(g, ti), np.concatenate(([ti], w, [to]))
    def matrix(h):
        size = m + n - 1
        def rate(u, outside):
            g, w = closed(u, h, outside)
            return np.concatenate(((Lg @ g)[:m], (Lw @ w)[1:-1]))
        J = np.array([rate(e, 0.0) for e in np.eye(size)]).T
        return J, rate(np.zeros(size), 1.0)
    u = np.full(m + n - 1, start + ZERO)
    weights = clenshaw_curtis(n)
    rows = []
    h1, b0, rate, b1, t1 = heat
    h2, air, t2 = cool
    block = lambda t: min(b0 + rate * t, b1) + ZERO
    cuts = [0.0, *([(b1 - b0) / rate] if rate else []), t1]
    spans = [(a, b, h1, block) for a, b in zip(cuts, cuts[1:])] + [(t1, t1 + t2, h2, lambda t: air + ZERO)]
    for a, b, h, outside in spans:
        J, q = matrix(h)
        at = [t for t in TIMES if a < t <= b]
        sol = solve_ivp(lambda t, u: J @ u + q * outside(t), (a, b), u, method="Radau", jac=J, t_eval=sorted({*at, b}), rtol=1e-10, atol=1e-9, first_step=1e-6)
        assert sol.success
        for t, v in zip(sol.t, sol.y.T):
            if t in at:
                g, _ = closed(v, h, outside(t))
                rows.append((t, g[0], g[-1], weights @ g))
        u = sol.y[:, -1]
    return np.array(rows)


lines = ["case,bore_m,wall_thickness_m,gel_conductivity,gel_density,gel_specific_heat,wall_conductivity,wall_density,wall_specific_heat,start_C,heat_coefficient,block_start_C,ramp_K_per_s,block_C,heat_s,cool_coefficient,air_C,cool_s,time_s,core_C,edge_C,mean_C"]
for name, case in CASES.items():
    fine, coarse = run(case, 40), run(case, 32)
    print(name, "differs by", np.abs(fine - coarse).max())
    assert np.abs(fine - coarse).max() < 1e-7
    bore, wall, body, start, heat, cool = case
    for row in fine:
        inputs = [name, bore, wall, *GEL, *body, start, *heat, *cool]
        lines.append(",".join([*(str(float(x)) if not isinstance(x, str) else x for x in inputs), f"{row[0]:g}", *(f"{x - ZERO:.6f}" for x in row[1:])]))
(pathlib.Path(__file__).parent.parent / "data/two_layer_cylinder.csv").write_text("\n".join(lines) + "\n")
