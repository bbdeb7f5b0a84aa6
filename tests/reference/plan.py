"""Chance of telling two dart rates apart, and the Fisher bound of a tone: python3 plan.py > plan.json

Made with Python 3.11, numpy 2.4.6, scipy 1.17.1.
"""
import json

import numpy as np
from scipy import stats


def power(a, b):
    """Exact two-sided test of k2 of k1 + k2 against one half at 5 %, over two Poisson counts."""
    ks = [range(int(stats.poisson.ppf(1e-12, m)), int(stats.poisson.ppf(1 - 1e-12, m)) + 1) for m in (a, b)]
    total = 0.0
    for i in ks[0]:
        for j in ks[1]:
            if i + j and stats.binomtest(j, i + j, 0.5).pvalue <= 0.05:
                total += stats.poisson.pmf(i, a) * stats.poisson.pmf(j, b)
    return float(total)


def fisher_sd(noise, fps, n, hz):
    """Standard deviation of the rate of a sine with amplitude 1, phase and level unknown too."""
    t, w = np.arange(n) / fps, 2 * np.pi * hz
    jac = np.stack([np.sin(w * t), np.cos(w * t), np.ones(n), 2 * np.pi * t * np.cos(w * t)], 1)
    return float(noise * np.sqrt(np.linalg.inv(jac.T @ jac)[3, 3]))


darts = [{"expected": e, "power": power(*e)}
         for e in [[4, 8], [20, 40], [24, 48], [26, 52], [0, 5], [0, 7], [1.5, 12], [60, 80], [3, 3]]]
tone = [{"noise": s, "fps": f, "n": n, "sd_hz": fisher_sd(s, f, n, hz)}
        for s, f, n, hz in [(0.1, 60, 180, 4.6), (0.4, 120, 300, 12.0), (1.0, 30, 900, 6.3)]]
print(json.dumps({"darts": darts, "tone": tone}, indent=1))
