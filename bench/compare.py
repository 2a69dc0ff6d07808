"""A general numerical library on the same sum of squares: compare.py CURVES.csv [HOW_MANY]

CURVES.csv is what bench_speed writes. Prints markdown rows that continue its table: scipy's
least_squares (bounded trust region) from 20 starts, and its differential_evolution.
"""
import csv
import sys
import time

import numpy
import scipy
from scipy.optimize import differential_evolution, least_squares


def read(path):
    curves = {}
    with open(path) as file:
        for row in csv.DictReader(file):
            curves.setdefault(row["curve"], []).append(row)
    for rows in curves.values():
        number = lambda key: numpy.array([float(r[key]) for r in rows])
        yield (number("Ci"), number("A"), float(rows[0]["gamma_star"]), float(rows[0]["Km"]),
               float(rows[0]["lowest_ssr"]), float(rows[0]["our_seconds"]))


def residuals_of(C, A, G, Km):
    wc, wj = C / (C + Km), C / (4 * C + 8 * G)
    above = C - G
    wp = numpy.where(above > 0, 3 * C / numpy.where(above > 0, above, 1), numpy.inf)
    h = 1 - G / C

    def residuals(p):
        with numpy.errstate(invalid="ignore"):
            W = numpy.fmin(numpy.minimum(p[0] * wc, p[1] * wj), p[2] * wp)
        return A - h * W + p[3]

    return residuals


LOW, HIGH = numpy.array([1e-6, 1e-6, 1e-6, 0.0]), numpy.array([500.0, 1000.0, 100.0, 10.0])


def many_starts(residuals, random, starts=20):
    best = numpy.inf
    for k in range(starts):
        start = [60, 110, 8, 1] if k == 0 else [
            numpy.exp(random.uniform(numpy.log(3), numpy.log(400))),
            numpy.exp(random.uniform(numpy.log(5), numpy.log(600))),
            numpy.exp(random.uniform(numpy.log(0.5), numpy.log(60))), random.uniform(0, 4)]
        best = min(best, 2 * least_squares(residuals, start, bounds=(LOW, HIGH)).cost)
    return best


def evolution(residuals, random):
    found = differential_evolution(lambda p: float(numpy.sum(residuals(p) ** 2)),
                                   list(zip(LOW, HIGH)), seed=random, tol=1e-10, maxiter=2000)
    return found.fun


def main():
    curves = list(read(sys.argv[1]))[: int(sys.argv[2]) if len(sys.argv) > 2 else 40]
    random = numpy.random.RandomState(1)
    for name, way in (("least_squares, 20 starts", many_starts), ("differential_evolution", evolution)):
        above, seconds = 0, []
        for C, A, G, Km, lowest, _ in curves:
            start = time.process_time()
            ssr = way(residuals_of(C, A, G, Km), random)
            seconds.append(time.process_time() - start)
            above += ssr > 1.001 * lowest
        median, ours = float(numpy.median(seconds)), curves[0][5]
        print(f"| scipy {scipy.__version__} {name} ({len(curves)} curves) | {1e3 * median:.0f} ms | "
              f"{median / ours:.0f} | {100 * above / len(curves):.1f} % |")


if __name__ == "__main__":
    main()
