"""Compares the core's bent wires with scipy: boundary values by collocation, step by step up to the whole load, then
sharpened by shooting from the hold (DOP853, 1e-13). The core walks from the tip and by its own series.

Called by run.sh with the folder that holds the program. Last line: `N passed, N failed`.
"""
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
from scipy.integrate import simpson, solve_bvp, solve_ivp
from scipy.optimize import fsolve

LIMIT = 1e-8  # of each number, of 1 when that is more
QUANTITIES = ("x", "y", "slope", "px", "py", "mu", "root", "peak", "energy")
RISES = 6

CASES = [
    ("loaded", 0, 1, 0, 0), ("loaded", 0, 10, 0, 0), ("loaded", 0, 2, 0.8, 0), ("loaded", -1, 1.5, 0.2, 0),
    ("loaded", 0, -6, 2.3, 0), ("loaded", 3, 1, -1.5, 0.5), ("loaded", -0.8, 0.3, 1, 1), ("loaded", -2.4, 0.05, 0, 0),
    ("loaded", 5, 5, -2, 0), ("loaded", 0, 4, 0, 2), ("loaded", 0, 25, 0, 0), ("loaded", -1.5, 1.5, -0.9, 0.05),
    ("follower", 0, 2, 0, 0), ("follower", 0, 5, 0, 0), ("follower", 1, -3, 0.5, 0.4), ("follower", -1, 0.6, 0, 0.2),
    ("follower", 0, 9, -1, 0),
    ("deflected", 0.1, 0, 0), ("deflected", 0.32, 0, 0), ("deflected", 0.48, 0, 0), ("deflected", 0.75, 0, 0),
    ("deflected", 0.3, -1.5, 0), ("deflected", 0.4, 1.2, 0.6), ("deflected", 0.5, 0, 1), ("deflected", -0.2, 0.8, 0),
    ("guided", 0.2, 0, 0), ("guided", 0.4, 0, 0), ("guided", 0.1, 0.9, 0), ("guided", 0.3, -0.5, 0.2),
    ("guided", 0.5, 1.0, 1), ("guided", -0.25, -0.4, 0),
]
# What is free beside the curvature at the hold; order of the state: theta, kappa, x, y.
FREE = {"loaded": 0, "follower": 1, "deflected": 1, "guided": 1}


def loads(case, free, share):
    """Force at the tip along fixed axes, and the hold's give."""
    kind, *v = case
    if kind == "loaded":
        return share * v[0], share * v[1], v[3]
    if kind == "follower":
        c, s = np.cos(free[0]), np.sin(free[0])
        return share * (c * v[0] - s * v[1]), share * (s * v[0] + c * v[1]), v[3]
    return 0.0, free[0], v[2]


def wrong_at_tip(case, tip, free, share):
    """What must vanish there, as many as there are unknowns."""
    kind, *v = case
    if kind == "loaded":
        return [tip[1] - share * v[2]]
    if kind == "follower":
        return [tip[1] - share * v[2], tip[0] - free[0]]
    if kind == "deflected":
        return [tip[1] - share * v[1], tip[3] - share * v[0]]
    return [tip[0] - share * v[1], tip[3] - share * v[0]]


def slopes(px, py, z):
    return np.vstack([z[1], px * np.sin(z[0]) - py * np.cos(z[0]), np.cos(z[0]), np.sin(z[0])])


def collocate(case):
    """Curvature at the hold and what else is free, to about 1e-7, reached from nothing."""
    count = FREE[case[0]]
    s = np.linspace(0, 1, 41)
    z, free = np.vstack([0 * s, 0 * s, s, 0 * s]), np.zeros(count)
    for rise in range(1, RISES + 1):
        share = rise / RISES

        def rhs(_, state, q=()):
            return slopes(*loads(case, q, share)[:2], state)

        def ends(root, tip, q=()):
            hold = [root[0] - loads(case, q, share)[2] * root[1], root[2], root[3]]
            return np.array(hold + wrong_at_tip(case, tip, q, share))

        found = solve_bvp(rhs, ends, s, z, p=free if count else None, tol=1e-6, max_nodes=20000)
        if not found.success:
            raise RuntimeError(f"{case}: {found.message}")
        s, z, free = found.x, found.y, found.p if count else free
    return np.concatenate([[z[1, 0]], free])


def walk(case, unknown, points=None):
    px, py, give = loads(case, unknown[1:], 1.0)
    start = [give * unknown[0], unknown[0], 0.0, 0.0]
    return solve_ivp(lambda _, z: slopes(px, py, z.reshape(4, 1)).ravel(), (0, 1), start, method="DOP853", rtol=1e-13,
                     atol=1e-14, t_eval=points)


def reference(case):
    unknown, info, *_ = fsolve(lambda u: wrong_at_tip(case, walk(case, u).y[:, -1], u[1:], 1.0), collocate(case),
                               xtol=1e-12, epsfcn=1e-10, full_output=True)
    if not np.abs(info["fvec"]).max() < 1e-11:
        raise RuntimeError(f"{case}: shooting ends {np.abs(info['fvec']).max():.1e} beside the tip")
    s = np.linspace(0, 1, 40001)
    theta, kappa, x, y = walk(case, unknown, s).y
    px, py, give = loads(case, unknown[1:], 1.0)
    energy = simpson(kappa**2, x=s) / 2 + give * kappa[0] ** 2 / 2
    return dict(zip(QUANTITIES, (x[-1], y[-1], theta[-1], px, py, kappa[-1], kappa[0], np.abs(kappa).max(), energy)))


def main(scratch):
    text = "".join(" ".join(str(v) for v in case) + "\n" for case in CASES)
    run = subprocess.run([scratch / "elastica_solve"], input=text, check=True, capture_output=True, text=True)
    passed = failed = 0
    print("Bent wires: core against scipy, largest difference of " + ", ".join(QUANTITIES))
    for case, core in zip(CASES, json.loads(run.stdout), strict=True):
        other = reference(case)
        error, worst = max((abs(core[q] - other[q]) / max(1.0, abs(other[q])), q) for q in QUANTITIES)
        passed, failed = passed + (error <= LIMIT), failed + (not error <= LIMIT)
        print(f"{' '.join(str(v) for v in case):36}{error:10.1e} {worst}{'' if error <= LIMIT else ' *'}", flush=True)
    print(f"\n{passed} passed, {failed} failed\n")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
