#!/usr/bin/python3
"""Ranges by draws against the exact distribution: uncertainty.py DAEMON. Last line: `N passed, N failed`.

One screw under an arm with a couple about its axis: what the screw feels is couple x force share x cosine of the axis's
lean. The share is normal with 5 and 95 % at 0.9 and 1.1 (evidence row force-measured-spread), the lean has two normal
slopes of tan 3 deg (spread-axis); scipy integrates the product. Twenty seeds must scatter about it as order statistics
do: standard error sqrt(p (1 - p) / n) / density."""
import json
import math
import subprocess
import sys

from scipy import integrate, optimize, stats

COUPLE, SHARE, LEAN, SEEDS, SAMPLES = 20.0, 0.10 / 1.6448536269514722, math.tan(math.radians(3.0)), 20, 2000
DOCUMENT = {
    "frame": "occlusal-lps", "on": "2026-03-02",
    "screws": [{"name": "A", "site": "palate-median", "entry_mm": [0, 0, 0], "axis": [0, 0, 1], "diameter_mm": 2.0,
                "length_mm": 9.0, "tissue_mm": 1.5, "stand_off_mm": 1.0, "interface_factor": 1}],
    "plate": {"name": "arm", "nodes": [{"name": "seat", "at_mm": [0, 0, 2.5]}, {"name": "end", "at_mm": [15, 0, 2.5]}],
              "bars": [{"from": "seat", "to": "end", "section": {"round_mm": 1.5}}],
              "seats": [{"node": "seat", "screw": "A"}], "fittings": [{"node": "end", "kind": "hook"}]},
    "elements": [{"name": "couple", "kind": "applied", "to": {"fitting": "end"}, "moment_nmm": [0, 0, COUPLE]}]}


def below(moment):
    """Share of all draws under this moment. w, the square of the slope, is exponential with mean 2 LEAN^2."""
    def at(w):
        return stats.norm.cdf((moment / COUPLE * math.sqrt(1 + w) - 1) / SHARE) * stats.expon.pdf(w, scale=2 * LEAN ** 2)
    return integrate.quad(at, 0, 60 * LEAN ** 2, epsabs=1e-11)[0]


def main():
    got = {"low": [], "mid": [], "high": []}
    for seed in range(1, SEEDS + 1):
        text = json.dumps({**DOCUMENT, "uncertainty": {"samples": SAMPLES, "seed": seed}})
        out = subprocess.run([sys.argv[1], "evaluate", "-"], input=text, capture_output=True, text=True, check=True).stdout
        told = json.loads(out)["uncertainty"]["screws"][0]["axis_moment_nmm"]
        for name in got:
            got[name].append(told[name])
    failed = 0
    for name, p in (("low", 0.05), ("mid", 0.5), ("high", 0.95)):
        exact = optimize.brentq(lambda m: below(m) - p, 0.5 * COUPLE, 1.5 * COUPLE, xtol=1e-9)
        density = (below(exact + 1e-3) - below(exact - 1e-3)) / 2e-3
        error = math.sqrt(p * (1 - p) / SAMPLES) / density
        mean = sum(got[name]) / SEEDS
        scatter = math.sqrt(sum((x - exact) ** 2 for x in got[name]) / SEEDS)
        # The mean of 20 within four of its standard errors; chi-square of 20 between 0.01 and 99.99 %.
        right = abs(mean - exact) < 4 * error / math.sqrt(SEEDS) and \
            5.4 < SEEDS * (scatter / error) ** 2 < 52.4
        failed += not right
        print(f"  axis moment, {name}: {mean:.4f}, exact {exact:.4f}; scatter {scatter:.4f}, expected {error:.4f}"
              f"{'' if right else '  WRONG'}")
    print(f"{3 - failed} passed, {failed} failed")
    return failed > 0


if __name__ == "__main__":
    sys.exit(main())
