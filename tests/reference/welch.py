# Welch mean and spectrogram of a seeded series. Made with Python 3, numpy 2.2.6, scipy 1.17.1.
import json
import numpy as np
from scipy.signal import spectrogram, welch

rng = np.random.default_rng(3)
fs, n, length = 100.0, 700, 128
t = np.arange(n) / fs
y = 1.5 * np.sin(2 * np.pi * 4.6 * t) + rng.normal(0, 0.5, n) + 9.8
f, p = welch(y, fs, window="hann", nperseg=length, noverlap=length // 2)
_, times, s = spectrogram(y, fs, window="hann", nperseg=length, noverlap=length // 2)
print(json.dumps({"values": y.tolist(), "hz": fs, "length": length, "step_hz": f[1],
                  "welch": p.tolist(), "times": times.tolist(), "third": s[:, 3].tolist()}))
