"""Times scipy's splu on the matrix of the bench `splu`, in each of its orderings, beside our times.

    splu.py MATRIX FIRST_MS AGAIN_MS
"""

import sys
import time

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

ROUNDS = 31


def median_ms(work):
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return sorted(times)[ROUNDS // 2] * 1e3


def main():
    with open(sys.argv[1]) as lines:
        size = int(next(lines))
        rows, columns, values = zip(*((int(r), int(c), float(v)) for r, c, v in map(str.split, lines)))
    matrix = sp.csc_matrix((values, (rows, columns)), shape=(size, size))
    right = np.zeros(size)
    right[1] = 12.8 / 0.005
    first_ms, again_ms = map(float, sys.argv[2:4])
    best = None
    for ordering in ("COLAMD", "MMD_AT_PLUS_A", "MMD_ATA", "NATURAL"):
        for symmetric in (False, True):
            options = {"diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}} if symmetric else {}
            took = median_ms(lambda: splu(matrix, permc_spec=ordering, **options).solve(right))
            name = ordering + (", symmetric mode" if symmetric else "")
            print(f"  splu and solve, {name}: {took:.2f} ms")
            best = min(best or (took, name), (took, name))
    took, name = best
    print(f"  best: {name}, {took:.2f} ms: ours is {took / first_ms:.1f} times as fast at first, "
          f"{took / again_ms:.1f} times with the ordering kept")


main()
