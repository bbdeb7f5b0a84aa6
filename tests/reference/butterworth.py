# Gain of a Butterworth band (fourth-order high-pass at 300 Hz, low-pass at 4 kHz, 48 kHz sampling).
# Made with Python 3, numpy 2.2.6, scipy 1.17.1.
import json
import numpy as np
from scipy.signal import butter, sosfreqz

hz = [100, 200, 300, 500, 1000, 2000, 3500, 4000, 6000, 9000]
sos = np.vstack([butter(4, 300, "high", fs=48e3, output="sos"), butter(4, 4000, fs=48e3, output="sos")])
_, h = sosfreqz(sos, hz, fs=48e3)
print(json.dumps([[f, abs(g)] for f, g in zip(hz, h)]))
