# Makes the rod-tip samples: hazel58-03-rod.csv (accelerometer) and hazel58-03-rod.wav (microphone).
# Nothing was recorded: a wobble of 4.6 Hz whose rate wanders by about 2 %, with its second harmonic,
# four seconds of rest at both ends and a knock against weed at 13.2 s. Made with Python 3, numpy 2.2.6.
import wave
import numpy as np

rng = np.random.default_rng(58)


def cycles(t):
    return 4.6 * t + 0.06 * np.sin(2 * np.pi * 0.11 * t) + 0.02 * np.sin(2 * np.pi * 0.37 * t + 1)


def pulled(t):
    return np.clip((t - 4) / 0.5, 0, 1) * np.clip((20 - t) / 0.5, 0, 1)


hz = 100
t = np.arange(24 * hz) / hz
thump = pulled(t) * (1.4 * np.sin(2 * np.pi * cycles(t)) + 0.35 * np.sin(4 * np.pi * cycles(t) + 0.7))
knock = 14 * np.exp(-np.abs(t - 13.2) / 0.06) * np.sin(2 * np.pi * 21 * (t - 13.2))
along = np.array([0.20, 0.35, 0.915])
axes = np.outer(thump + knock, along) + [0.9, -0.6, 9.75] + rng.normal(0, 0.15, (len(t), 3))
with open("hazel58-03-rod.csv", "w") as f:
    f.write("# rod tip, Hazel 58, build hazel58-03\ntime_s,acc_x (m/s2),acc_y (m/s2),acc_z (m/s2)\n")
    for i in range(len(t)):
        f.write(f"{t[i]:.2f},{axes[i, 0]:.3f},{axes[i, 1]:.3f},{axes[i, 2]:.3f}\n")

hz = 8000
t = np.arange(12 * hz) / hz
rattle = np.clip(np.sin(2 * np.pi * cycles(t + 5)), 0, 1) ** 4 * rng.normal(0, 0.08, len(t))
sound = rattle + rng.normal(0, 0.004, len(t))
with wave.open("hazel58-03-rod.wav", "wb") as w:
    w.setnchannels(1)
    w.setsampwidth(2)
    w.setframerate(hz)
    w.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
