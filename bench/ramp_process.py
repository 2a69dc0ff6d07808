"""One ramp of five minutes at 2 rows a second as a whole process: ramp_process.py LEAFWRIGHT [RUNS]

Simulates a leaf's ramp, its empty record and the instrument in a new folder, and prints a markdown
table: `leafwright run` of the study (corrected, fitted, figures and report), its parts as processes
of their own, and beside them in the same rounds the naive way: this file called with --naive, which
subtracts the empty record's differential, computes fluxes row by row, tries the places where
Rubisco and RuBP limitation could meet, and writes an SVG, all in plain Python; no filter, no standard
errors, no report. Wall and CPU (user + system) of each,
least and median.
"""
import bisect
import csv
import math
import os
import subprocess
import sys
import tempfile
import time

STUDY = """schema = 1
title = "one ramp"
seed = 1
[[log]]
file = "empty.csv"
instrument = "instrument.toml"
role = "empty"
[[log]]
file = "ramp.csv"
instrument = "instrument.toml"
role = "ramp"
[ramp]
correction = "forward"
[fit]
pathway = "c3"
"""
REHEARSE = ("rehearse --rate 220 --co2-start 60 --co2-end 1000 --hold-before 22 --hold-after 22 "
            "--interval 0.5 --seed 7 --out ramp.csv --empty empty.csv --write-instrument instrument.toml")


def read(path):
    with open(path) as file:
        rows = list(csv.DictReader(file))
    return [{key: float(text) for key, text in row.items() if key != "curve_id"} for row in rows]


def point(row, difference):
    """A and Ci of one row by the equations of von Caemmerer & Farquhar 1981."""
    u_per_s, Wr, Ws = row["flow"] / row["area"] / 100, row["H2Or"] / 1e3, row["H2Os"] / 1e3
    E, C = u_per_s * (Ws - Wr) / (1 - Ws), row["CO2s"] - difference
    A = u_per_s * (row["CO2r"] - C * (1 - Wr) / (1 - Ws))
    Wi = 0.61365 * math.exp(17.502 * row["Tleaf"] / (240.97 + row["Tleaf"])) / row["Patm"]
    gbw, gtw = row["gbw"] / 1e3, E * (1 - (Wi + Ws) / 2) / (Wi - Ws)
    g = 1 / (1.6 * (1 / gtw - 1 / gbw) + 1.37 / gbw)
    return ((g - E / 2) * C - A) / (g + E / 2), A


def solved(M, y):
    """Gauss elimination, small and positive definite."""
    n = len(y)
    rows = [M[i] + [y[i]] for i in range(n)]
    for i in range(n):
        for k in range(i + 1, n):
            f = rows[k][i] / rows[i][i]
            rows[k] = [a - f * b for a, b in zip(rows[k], rows[i])]
    x = [0.0] * n
    for i in reversed(range(n)):
        x[i] = (rows[i][n] - sum(rows[i][k] * x[k] for k in range(i + 1, n))) / rows[i][i]
    return x


def crossing(points, Km, G):
    """Vcmax, J, Rday by linear least squares for every fifth place where the states could change."""
    best = None
    for split in range(20, len(points) - 20, 5):
        X = [[(C - G) / (C + Km), 0.0, -1.0] if i < split else [0.0, (C - G) / (4 * C + 8 * G), -1.0]
             for i, (C, _) in enumerate(points)]
        M = [[sum(x[a] * x[b] for x in X) for b in range(3)] for a in range(3)]
        p = solved(M, [sum(x[a] * A for x, (_, A) in zip(X, points)) for a in range(3)])
        model = [sum(a * b for a, b in zip(x, p)) for x in X]
        ssr = sum((m - A) ** 2 for m, (_, A) in zip(model, points))
        best = min(best or (ssr, model), (ssr, model))
    return best[1]


def naive(folder):
    empty = sorted((row["CO2r"], row["CO2s"] - row["CO2r"]) for row in read(folder + "/empty.csv"))
    levels, points = [CO2 for CO2, _ in empty], []
    for row in read(folder + "/ramp.csv")[100:560]:
        at = min(max(bisect.bisect(levels, row["CO2r"]), 1), len(levels) - 1)
        (x0, y0), (x1, y1) = empty[at - 1], empty[at]
        share = (row["CO2r"] - x0) / (x1 - x0) if x1 > x0 else 0
        points.append(point(row, y0 + share * (y1 - y0)))
    points.sort()
    model = crossing(points, 718.0, 42.75)
    marks = "".join(f'<circle cx="{C / 4:.2f}" cy="{200 - 4 * A:.2f}" r="1"/>' for C, A in points)
    line = " ".join(f"{C / 4:.2f},{200 - 4 * m:.2f}" for (C, _), m in zip(points, model))
    with open(folder + "/naive.svg", "w") as file:
        file.write(f'<svg xmlns="http://www.w3.org/2000/svg">{marks}<polyline points="{line}"/></svg>')


def once(command, folder):
    before, start = os.times(), time.perf_counter()
    code = subprocess.run(command, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode
    wall, after = time.perf_counter() - start, os.times()
    if code != 0:
        sys.exit(f"{' '.join(command)} ended with {code}")
    cpu = after.children_user - before.children_user + after.children_system - before.children_system
    return 1e3 * wall, 1e3 * cpu


def main():
    program, runs = os.path.abspath(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 25
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([program] + REHEARSE.split(), cwd=folder, check=True, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL)
        with open(os.path.join(folder, "study.toml"), "w") as file:
            file.write(STUDY)
        ways = {
            "a start alone (--version)": [program, "--version"],
            "run: corrected, fitted, figures, report": [program, "run", "study.toml", "--out", "o{}"],
            "ramp: corrected": [program, "ramp", "ramp.csv", "--empty", "empty.csv", "--instrument",
                                "instrument.toml", "--out", "p{}.csv"],
            "fit of its points, with figures": [program, "fit", "p0.csv", "--pathway", "c3", "--figures", "f{}"],
            "the naive way in plain Python": [sys.executable, os.path.abspath(__file__), "--naive", folder],
        }
        times = {name: [] for name in ways}
        for k in range(runs):
            for name, command in ways.items():
                times[name].append(once([part.format(k) for part in command], folder))
        run = sorted(cpu for _, cpu in times["run: corrected, fitted, figures, report"])[runs // 2]
        print("| process | wall ms, least | median | CPU ms, least | median | CPU over run |\n|---|---|---|---|---|---|")
        for name, found in times.items():
            wall, cpu = sorted(w for w, _ in found), sorted(c for _, c in found)
            print(f"| {name} | {wall[0]:.0f} | {wall[runs // 2]:.0f} | {cpu[0]:.0f} | {cpu[runs // 2]:.0f} | "
                  f"{cpu[runs // 2] / run:.1f} |")


if sys.argv[1] == "--naive":
    naive(sys.argv[2])
else:
    main()
