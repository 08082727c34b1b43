"""Reference for the shape-preserving interpolation of measured traces: scipy.interpolate.PchipInterpolator
on three sets of points. Writes tests/data/pchip.csv: the knots (kind knot) and the values and slopes between
and at them (kind value). Set rpn14: F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238, data set RPN 14,
seen quoted in public test code; the other two are invented."""

import pathlib

import numpy as np
import scipy
from scipy.interpolate import PchipInterpolator

sets = {
    "rpn14": (
        [7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20],
        [0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994],
    ),
    # Warm-up, plateau with ties, and cooling, at uneven times; K.
    "warm_up": (
        [0, 5, 12, 30, 60, 100, 150, 240, 300, 301, 330, 400],
        [295.15, 301.2, 312.9, 334.0, 350.1, 357.0, 358.6, 359.1, 359.1, 357.9, 340.2, 312.3],
    ),
    "two_points": ([1, 3], [300.0, 310.0]),
    # The ends' three-point formula overshoots and is held back in both ways.
    "ends": ([0, 1, 1.2, 4, 4.1, 9], [300, 301, 320, 320.5, 319, 330]),
}
out = pathlib.Path(__file__).parent.parent / "data/pchip.csv"
with out.open("w") as f:
    f.write(f"# scipy {scipy.__version__} PchipInterpolator; made by tests/references/pchip.py\n")
    f.write("set,kind,x,y,slope\n")
    for name, (x, y) in sets.items():
        p = PchipInterpolator(x, y)
        for a, b in zip(x, y):
            f.write(f"{name},knot,{a!r},{b!r},\n")
        mid = np.unique(np.concatenate([np.linspace(x[0], x[-1], 25), np.array(x, float), (np.array(x[1:]) + np.array(x[:-1])) / 2]))
        for t in mid:
            f.write(f"{name},value,{float(t)!r},{float(p(t))!r},{float(p(t, 1))!r}\n")
