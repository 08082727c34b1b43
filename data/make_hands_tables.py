#!/usr/bin/env python3
"""Makes the invented tables of other hands and of opacity: python3 data/make_hands_tables.py data

Nothing here was measured. The numbers behind the readings stand in the first lines of each table,
so that an answer can be held against them. The same seed gives the same bytes.
"""
import math
import random
import sys

folder = sys.argv[1] if len(sys.argv) > 1 else "data"
draw = random.Random(20261126)

# On ln viscosity: what each operator and each block adds; the scatter of pairs of both, of single syringes.
BOTH, REST = 0.02, 0.06
lots = {"SK-03": 1.10, "SK-08": 1.55, "SK-11": 1.30}
operators = {"OP-1": 0.0, "OP-2": 0.03, "OP-3": -0.11, "OP-4": 0.24}
blocks = {"BK-1": -0.03, "BK-2": 0.03}
both = {(o, b): draw.gauss(0, BOTH) for o in operators for b in blocks}
with open(f"{folder}/hands_study.csv", "w", encoding="utf-8") as out:
    out.write("# invented data: nobody took these readings. Four operators, two blocks, three lots, each twice.\n")
    out.write(f"# Behind it, on ln viscosity: {operators} {blocks}; standard deviation of pairs of both {BOTH}, of single syringes {REST}.\n".replace("'", ""))
    out.write("heat_temp_C,heat_time_min,viscosity_Pa_s,shear_rate_per_s,read_temp_C,lot,operator,block,session\n")
    for day, (lot, level) in enumerate(lots.items(), start=1):
        for operator, own in operators.items():
            for block, its in blocks.items():
                for _ in range(2):
                    ln = math.log(level) + own + its + both[operator, block] + draw.gauss(0, REST)
                    out.write(f"80,6,{math.exp(ln):.3f},10,23,{lot},{operator},{block},D-{day}\n")

# Opacity: each sample has a place on a scale from 0 to 4; readers see it with a bias and scatter.
readers = {"RD-1": (0.0, 0.30), "RD-2": (0.10, 0.35), "RD-3": (-0.35, 0.45)}
with open(f"{folder}/opacity_steps.csv", "w", encoding="utf-8") as out:
    out.write("# invented data: nobody saw these gels. Steps of a contrast card, 0 all lines behind the barrel seen, 4 none.\n")
    out.write("# Behind it: a place from 0 to 4 for each sample; bias and scatter of the readers " + ", ".join(f"{r} {b} {s}" for r, (b, s) in readers.items()) + " steps.\n")
    out.write("sample,lot,reader,round,opacity_step,force_N\n")
    for number in range(1, 25):
        lot = "SK-03" if number <= 12 else "SK-08"
        place = 4 * ((number - 1) % 12) / 11
        force = math.exp(0.75 * place + (0.0 if lot == "SK-03" else 0.4) + draw.gauss(0, 0.25)) + 1.5
        for reader, (bias, scatter) in readers.items():
            for look in ((1, 2) if reader == "RD-2" else (1,)):
                step = min(4, max(0, round(place + bias + draw.gauss(0, scatter))))
                shown = f"{force:.1f}" if look == 1 else ""
                out.write(f"S-{number:02d},{lot},{reader},{look},{step},{shown}\n")
