"""Reference for a barrel that stands out of the block: bilinear finite elements in r and z with lumped
capacities, SciPy's BDF in time, on two meshes and extrapolated to none (Richardson, second order). The
1 mL barrel of two_layer.py, filled 57.7 mm, 10 mm out of the block, its bottom in air, its plunger's end
insulated; six minutes in the block, two in the air. Writes tests/data/standing_out.csv: temperature at
r = 0 and of the gel at its wall at seven heights, and the volume mean. SciPy 1.17.1."""

import pathlib

import numpy as np
import scipy.sparse as sp
from scipy.integrate import solve_ivp

R, WALL, LENGTH, OUT = 2.35e-3, 0.9e-3, 57.7e-3, 10e-3
GEL, PLASTIC = (0.58, 1025.0 * 3900.0), (0.17, 905.0 * 1925.0)
RIM = LENGTH - OUT
HEIGHTS = [0.0, 5e-3, 25e-3, 45e-3, RIM, 50e-3, LENGTH]
TIMES = [5, 20, 60, 180, 360, 380, 480]
G = 1 / np.sqrt(3)


def line(a, b, n, both):
    x = np.linspace(0, 1, n + 1)
    return a + (b - a) * ((1 - np.cos(np.pi * x)) / 2 if both else x)


def mesh(f):
    r = np.concatenate((line(0, R, 12 * f, False), line(R, R + WALL, 5 * f, False)[1:]))
    rows = [6, 12, 12, 8, 8, 10]
    z = np.concatenate([[0.0], *(line(a, b, n * f, a == 45e-3 or b == 45e-3 or a == RIM)[1:] for a, b, n in zip(cuts, cuts[1:], rows))])
    return r, z


def system(r, z, side, bottom):
    """Capacities, conductances and, for each surrounding, the vector of supply. `side(z)` gives
    (coefficient, 0 for block or 1 for air); `bottom` is a coefficient towards the air."""
    nr, nz = len(r), len(z)
    at = lambda i, j: j * nr + i
    C, q = np.zeros(nr * nz), np.zeros((2, nr * nz))
    I, J, V = [], [], []
    for j in range(nz - 1):
        for i in range(nr - 1):
            k, c = GEL if r[i + 1] <= R * (1 + 1e-12) else PLASTIC
            dr, dz = r[i + 1] - r[i], z[j + 1] - z[j]
            nodes = [at(i, j), at(i + 1, j), at(i, j + 1), at(i + 1, j + 1)]
            K = np.zeros((4, 4))
            for x in (-G, G):
                for y in (-G, G):
                    rr = r[i] + dr * (1 + x) / 2
                    N = np.array([(1 - x) * (1 - y), (1 + x) * (1 - y), (1 - x) * (1 + y), (1 + x) * (1 + y)]) / 4
                    Nr = np.array([-(1 - y), 1 - y, -(1 + y), 1 + y]) / 2 / dr
                    Nz = np.array([-(1 - x), -(1 + x), 1 - x, 1 + x]) / 2 / dz
                    w = 2 * np.pi * rr * dr * dz / 4
                    K += k * w * (np.outer(Nr, Nr) + np.outer(Nz, Nz))
                    C[nodes] += c * w * N
            for a in range(4):
                for b in range(4):
                    I.append(nodes[a]), J.append(nodes[b]), V.append(K[a, b])
    def film(a, b, area_a, area_b, h, which):
        for n, area in ((a, area_a), (b, area_b)):
            I.append(n), J.append(n), V.append(h * area)
            q[which, n] += h * area
    ro = r[-1]
    for j in range(nz - 1):
        h, which = side((z[j] + z[j + 1]) / 2)
        half = np.pi * ro * (z[j + 1] - z[j])
        film(at(nr - 1, j), at(nr - 1, j + 1), half, half, h, which)
    for i in range(nr - 1):
        a, b = r[i], r[i + 1]  # linear shape functions over the ring
        film(at(i, 0), at(i + 1, 0), np.pi * (b - a) * (2 * a + b) / 3, np.pi * (b - a) * (a + 2 * b) / 3, bottom, 1)
    return C, sp.csc_matrix((V, (I, J))), q


def run(f):
    r, z = mesh(f)
    nr = len(r)
    T = np.full(nr * len(z), 22.0)
    gel = int(np.argmin(abs(r - R)))
    # Weights of the volume mean: bilinear functions over the gel's rings.
    ring = np.zeros(nr)
    for i in range(gel):
        a, b = r[i], r[i + 1]
        ring[i] += (b - a) * (2 * a + b) / 3
        ring[i + 1] += (b - a) * (a + 2 * b) / 3
    height = np.zeros(len(z))
    height[:-1] += np.diff(z) / 2
    height[1:] += np.diff(z) / 2
    weights = np.outer(height, ring).ravel()
    weights /= weights.sum()
    out = []
    stages = [
        (0, 360, lambda x: (150.0, 0) if x < RIM else (15.0, 1), 20.0),
        (360, 480, lambda x: (30.0, 1), 20.0),
    ]
    for a, b, side, bottom in stages:
        C, K, q = system(r, z, side, bottom)
        A = sp.diags(1 / C) @ (-K)
        s = (q[0] * 90.0 + q[1] * 22.0) / C
        at = [t for t in TIMES if a < t <= b]
        sol = solve_ivp(lambda t, u: A @ u + s, (a, b), T, method="BDF", jac=A.tocsc(), t_eval=sorted({*at, b}), rtol=1e-7, atol=1e-7)
        assert sol.success
        for t, u in zip(sol.t, sol.y.T):
            if t in at:
                field = u.reshape(len(z), nr)
                rows = [int(np.argmin(abs(z - x))) for x in HEIGHTS]
                out.append([*field[rows, 0], *field[rows, gel], weights @ u])
        T = sol.y[:, -1]
    return np.array(out)


one, two, four = run(1), run(2), run(4)
best = four + (four - two) / 3
print("change of the extrapolated figures from the coarser pair to the finer:", np.abs(best - (two + (two - one) / 3)).max())
print("observed order by column:", np.round(np.log2(np.abs(one - two).max(axis=0) / np.abs(two - four).max(axis=0)), 1))
head = ["time_s", *(f"core_{1e3 * x:g}mm_C" for x in HEIGHTS), *(f"edge_{1e3 * x:g}mm_C" for x in HEIGHTS), "mean_C"]
lines = [",".join(head), *(",".join([f"{t:g}", *(f"{x:.4f}" for x in row)]) for t, row in zip(TIMES, best))]
(pathlib.Path(__file__).parent.parent / "data/standing_out.csv").write_text("\n".join(lines) + "\n")
