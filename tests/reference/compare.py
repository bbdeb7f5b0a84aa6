"""Welch's t with its interval, and two one-sided tests with unequal variances: python3 compare.py > compare.json

Made with Python 3.11-3.13, numpy 2.2.6, scipy 1.15.3, statsmodels 0.14.5.
"""
import json

import numpy as np
from scipy import stats
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

chance = np.random.default_rng(20261125)
cases = []
for n_a, n_b, shift, spread_b, within in [
    (3, 3, 0.0, 1.0, 0.5), (4, 7, 0.4, 2.0, 1.0), (12, 5, 1.5, 0.3, 1.0), (2, 2, 0.2, 1.0, 2.0),
    (8, 8, 0.05, 1.0, 1.5), (20, 3, -0.7, 3.0, 0.2), (6, 6, -3.0, 0.5, 1.0), (30, 25, 0.1, 1.2, 0.8),
]:
    a = np.round(chance.normal(5, 0.4, n_a), 4)
    b = np.round(chance.normal(5 + shift, 0.4 * spread_b, n_b), 4)
    welch = stats.ttest_ind(b, a, equal_var=False)
    low, high = welch.confidence_interval(0.95)
    means = CompareMeans(DescrStatsW(b), DescrStatsW(a))
    p_same = means.ttost_ind(-within, within, usevar="unequal")[0]
    cases.append({"a": a.tolist(), "b": b.tolist(), "within": within, "p_different": float(welch.pvalue),
                  "ci95": [float(low), float(high)], "p_same": float(p_same)})
print(json.dumps(cases, indent=1))
