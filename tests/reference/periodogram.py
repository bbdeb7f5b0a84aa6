# Lomb-Scargle powers with floating mean on irregular stamps, standard normalisation.
# Made with Python 3, numpy 2.2.6, scipy 1.17.1 (floating_mean needs scipy >= 1.15).
import json
import numpy as np
from scipy.signal import lombscargle

rng = np.random.default_rng(20)
cases = []
for n, hz in [(60, 3.7), (150, 6.1), (241, 9.9)]:
    t = np.sort(rng.uniform(0, n / 30, n))
    y = 2.0 * np.sin(2 * np.pi * hz * t + 0.4) + rng.normal(0, 1.5, n) + 5.0
    f = np.linspace(0.5, 14.5, 57)
    z = lombscargle(t, y, 2 * np.pi * f, normalize=True, floating_mean=True)
    cases.append({"t_s": t.tolist(), "values": y.tolist(), "hz": f.tolist(), "power": z.tolist()})
print(json.dumps(cases))
