"""Water by other packages: python3 water.py > water.json

Made with Python 3.11, numpy 2.4.6, gsw 3.6.20, iapws 1.5.5, seawater 3.3.5.
Temperatures are ITS-90 unless named t68. Reference-composition salinity is 35.16504/35 of the practical one
(no place on the globe, so no anomaly).
"""
import json

import gsw
import iapws
import seawater
from iapws._iapws import _Refractive

P_MPA = 0.101325


def pure(t, l):
    rho = iapws.IAPWS95(T=t + 273.15, P=P_MPA).rho
    return {"t": t, "rho": rho, "um": l, "index": _Refractive(rho, t + 273.15, l)}


temperatures, salinities = [-1.0, 0.0, 4.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0], [0.0, 5.0, 15.0, 35.0, 42.0]
surface = []
for s in salinities:
    for t in temperatures:
        sa = s * 35.16504 / 35
        surface.append({"t": t, "s": s, "eos80": float(seawater.dens(s, t, 0)),
                        "teos10": float(gsw.rho_t_exact(sa, t, 0))})
deep = [{"t68": t, "s": s, "bar": p, "eos80": float(seawater.dens(s, t / 1.00024, 10 * p))}
        for s in (0.0, 35.0, 40.0) for t in (0.0, 25.0, 40.0) for p in (0.0, 10.0, 1000.0)]
# gsw's own example, turned into what EOS-80 takes: practical salinity and temperature on the spot.
sa, ct, p = 34.7118, 28.8099, 10.0
example = {"rho": float(gsw.rho(sa, ct, p)), "t": float(gsw.t_from_CT(sa, ct, p)), "s": sa * 35 / 35.16504,
           "bar": p / 10}
print(json.dumps({"surface": surface, "deep": deep, "example": example,
                  "pure": [pure(t, l) for t in (0.0, 5.0, 10.0, 20.0, 30.0, 40.0) for l in (0.4, 0.5893, 0.7)]},
                 indent=1))
